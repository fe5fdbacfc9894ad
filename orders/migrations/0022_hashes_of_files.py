"""The hash of a defect's photo beside it. A column that may be null: no row is written anew, no trigger lost."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("orders", "0021_figures_and_findings_of_drafts"),
    ]

    operations = [
        migrations.AddField(
            model_name="inspectionphoto",
            name="sha256",
            field=models.CharField(editable=False, max_length=64, null=True),
        ),
    ]
