from django.db import migrations, models


class Migration(migrations.Migration):
    """Only ``AddIndex``: whatever makes SQLite copy this table would lose its triggers."""

    dependencies = [("dispensing", "0005_no_way_around_append_only")]

    operations = [
        migrations.AddIndex("auditevent", models.Index(fields=["record_id", "-id"], name="audit_of_record")),
    ]
