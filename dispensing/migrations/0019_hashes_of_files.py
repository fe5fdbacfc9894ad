"""The hash of each picture and scan beside it. Columns that may be null: no row is written anew."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("dispensing", "0018_seals"),
    ]

    operations = [
        migrations.AddField(
            model_name="fittingphoto",
            name="sha256",
            field=models.CharField(editable=False, max_length=64, null=True),
        ),
        migrations.AddField(
            model_name="prescriptionscan",
            name="sha256",
            field=models.CharField(editable=False, max_length=64, null=True),
        ),
    ]
