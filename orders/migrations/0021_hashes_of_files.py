"""The hash of a defect's photo beside it. A column that may be null: no row is written anew, no trigger lost."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("orders", "0020_where_an_order_stays"),
    ]

    operations = [
        migrations.AddField(
            model_name="inspectionphoto",
            name="sha256",
            field=models.CharField(editable=False, max_length=64, null=True),
        ),
    ]
