"""The hash of a scan that is being read, beside it. A column that may be null: no row is written anew."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("dispensing", "0025_consent_to_notices"),
    ]

    operations = [
        migrations.AddField(
            model_name="paperreading",
            name="sha256",
            field=models.CharField(editable=False, max_length=64, null=True),
        ),
    ]
