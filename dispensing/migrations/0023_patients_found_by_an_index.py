from django.db import migrations, models, transaction

from dispensing.live_migrations import AddIndexOnline
from dispensing.search_index import extension, parts_indexed
from dispensing.search_words import contact_text, new_name_keys, own_text

AT_ONCE = 1000


def write_words(apps, schema_editor):
    """A thousand patients at a time, each lot for itself: nobody waits longer, and what is done stays done."""
    Patient, Practice = apps.get_model("dispensing", "Patient"), apps.get_model("dispensing", "Practice")
    practice = Practice.objects.first()
    country = practice.country if practice else ""
    last = 0
    while patients := list(Patient.objects.filter(pk__gt=last).order_by("pk")[:AT_ONCE]):
        for patient in patients:
            patient.search_text, patient.contact_text = own_text(patient, country), contact_text(patient, country)
        with transaction.atomic():
            Patient.objects.bulk_update(patients, ["search_text", "contact_text"], batch_size=100)
            _write_keys(apps.get_model("dispensing", "NameKey"), patients)
        last = patients[-1].pk


def _write_keys(NameKey, patients):
    def on_record(words):
        return {key for key, word in NameKey.objects.filter(key__in=words).values_list("key", "word") if key == word}

    rows = [NameKey(key=key, word=word) for key, word in new_name_keys(patients, on_record)]
    NameKey.objects.bulk_create(rows, ignore_conflicts=True, batch_size=2000)


class Migration(migrations.Migration):
    atomic = False

    dependencies = [
        ("dispensing", "0022_words_patients_are_found_by"),
    ]

    operations = [
        extension(),
        migrations.RunPython(write_words, migrations.RunPython.noop),
        AddIndexOnline("patient", models.Index(fields=["born_on"], name="patient_by_birth_date")),
        parts_indexed(),
    ]
