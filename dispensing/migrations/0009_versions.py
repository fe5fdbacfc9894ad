from django.db import migrations, models


def counted(model: str) -> migrations.AddField:
    return migrations.AddField(model, "version", models.PositiveIntegerField(default=1, editable=False))


class Migration(migrations.Migration):
    """The column of the audit trail may be null and has no default: so SQLite adds it without copying the table, which
    would lose its triggers.
    """

    dependencies = [("dispensing", "0008_eighths_stored_whole")]

    operations = [
        migrations.AddField("auditevent", "version", models.PositiveIntegerField(null=True)),
        *(counted(model) for model in ("patient", "prescription", "frame", "fitting", "practice", "staffuser")),
    ]
