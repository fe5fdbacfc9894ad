"""What each patient agreed to; nobody has yet. SQLite rebuilds the table, so the index of its words is made again."""

from django.db import migrations, models

from dispensing.live_migrations import AddIndexOnline
from dispensing.search_index import drop_parts, index_parts


def index_again(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        drop_parts(schema_editor)
        index_parts(schema_editor)


class Migration(migrations.Migration):
    atomic = False

    dependencies = [
        ("dispensing", "0024_scans_read_by_the_machine"),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, index_again),
        migrations.AddField(
            model_name="patient",
            name="notices_by_email",
            field=models.BooleanField(db_default=False, default=False, verbose_name="agrees to be told by e-mail"),
        ),
        migrations.AddField(
            model_name="patient",
            name="notices_by_text",
            field=models.BooleanField(
                db_default=False, default=False, verbose_name="agrees to be told by text message"
            ),
        ),
        AddIndexOnline("prescription", models.Index(fields=["expires_on", "id"], name="prescription_ending")),
        migrations.RunPython(index_again, migrations.RunPython.noop),
    ]
