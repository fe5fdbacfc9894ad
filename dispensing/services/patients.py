"""Writing patients: registering one and correcting one. Each leaves a line in the audit trail."""

from typing import Any

from django.db import transaction
from django.utils import timezone

from dispensing.folding import digits_of, parts_of_names
from dispensing.models import Patient, StaffUser
from dispensing.services.audit import changed_fields, record
from dispensing.services.meanwhile import require_seen
from dispensing.services.numbers import next_number

REFERENCE_PREFIX = "P"
OWNED_FIELDS = (
    "family_name",
    "given_names",
    "born_on",
    "phone",
    "email",
    "address",
    "preferred_contact",
    "may_be_contacted",
    "occupation",
    "recreation",
    "driver",
    "sight_impaired",
    "guardian",
    "notes",
)


def search_text_of(patient: Patient) -> str:
    """What a search looks through: parts of the names, reference, phone figures, date of birth."""
    names = parts_of_names(f"{patient.given_names} {patient.family_name}")
    reference = patient.reference.casefold()
    others = [reference, reference.replace("-", ""), digits_of(patient.phone), patient.born_on.isoformat()]
    return " ".join(dict.fromkeys(part for part in names + others if part))


@transaction.atomic
def register_patient(*, actor: StaffUser | None, although_similar_to: tuple[str, ...] = (), **fields: Any) -> Patient:
    """A new patient with the next reference. ``fields``: any of OWNED_FIELDS.

    ``although_similar_to``: references of patients the person was shown and said to be others.
    """
    patient = Patient(**fields, registered_by=actor, last_seen_on=timezone.localdate())
    patient.reference = next_number(Patient, "reference", REFERENCE_PREFIX)
    patient.search_text = search_text_of(patient)
    patient.full_clean(exclude={"registered_by"})
    patient.save()
    changes = {"not_the_same_as": list(although_similar_to)} if although_similar_to else {}
    record(actor=actor, verb="patient.register", target=patient, patient=patient, changes=changes)
    return patient


@transaction.atomic
def correct_patient(*, actor: StaffUser | None, patient: Patient, seen: int | None = None, **fields: Any) -> Patient:
    """Change the named fields of a patient, and only those; nothing is recorded when nothing differs.

    ``seen``: the `last_change` of the patient the person looked at. Raises ValidationError, ChangedMeanwhile.
    """
    stored = Patient.objects.select_for_update().get(pk=patient.pk)
    changes = changed_fields({name: getattr(stored, name) for name in fields}, fields)
    if not changes:
        return stored
    require_seen(stored, seen, changes)
    for name in changes:
        setattr(stored, name, fields[name])
    stored.search_text = search_text_of(stored)
    stored.full_clean(exclude={"registered_by"})
    stored.save(update_fields=[*changes, "search_text"])
    record(actor=actor, verb="patient.correct", target=stored, patient=stored, changes=changes)
    return stored


def mark_seen(patient: Patient) -> None:
    """The patient was here today: from this day the years of keeping the record count."""
    today = timezone.localdate()
    Patient.objects.filter(pk=patient.pk).exclude(last_seen_on__gte=today).update(last_seen_on=today)
