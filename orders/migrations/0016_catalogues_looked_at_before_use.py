"""A catalogue is looked at before it is used: when it came into use, and what was confirmed of it by whom."""

from typing import Any

from django.db import migrations, models


def used_since_imported(apps: Any, schema_editor: Any) -> None:
    """Until now a catalogue came into use when it was imported."""
    apps.get_model("orders", "Catalogue").objects.update(used_at=models.F("imported_at"))


class Migration(migrations.Migration):
    dependencies = [("orders", "0015_decisions_hand_over_and_aftercare")]

    operations = [
        migrations.AlterField("catalogue", "in_use", models.BooleanField(default=False)),
        migrations.AddField("catalogue", "used_at", models.DateTimeField(editable=False, null=True)),
        migrations.AddField("catalogue", "confirmed", models.JSONField(default=list, editable=False)),
        migrations.RunPython(used_since_imported, migrations.RunPython.noop),
    ]
