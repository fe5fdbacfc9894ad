from django.db import migrations

from dispensing.append_only import append_only


def make_practice(apps, schema_editor):
    apps.get_model("dispensing", "Practice").objects.get_or_create(pk=1)


class Migration(migrations.Migration):
    dependencies = [("dispensing", "0001_initial")]

    operations = [
        append_only("dispensing_auditevent"),
        migrations.RunPython(make_practice, migrations.RunPython.noop),
    ]
