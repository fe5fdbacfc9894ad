"""Whether a patient agreed to be contacted may be unknown; what is on record stays. SQLite rebuilds the table, so the
index of its words is made again.
"""

from django.db import migrations, models

from dispensing.search_index import drop_parts, index_parts


def index_again(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        drop_parts(schema_editor)
        index_parts(schema_editor)


def none_agreed(apps, schema_editor):
    """Going back, whoever was not asked has not agreed."""
    patients = apps.get_model("dispensing", "Patient").objects
    patients.filter(may_be_contacted=None).update(may_be_contacted=False)


class Migration(migrations.Migration):
    atomic = False

    dependencies = [
        ("dispensing", "0027_prescribed_balance_lens"),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, index_again),
        migrations.AlterField(
            model_name="patient",
            name="may_be_contacted",
            field=models.BooleanField(blank=True, null=True, verbose_name="agrees to be contacted about orders"),
        ),
        migrations.RunPython(migrations.RunPython.noop, none_agreed),
        migrations.RunPython(index_again, migrations.RunPython.noop),
    ]
