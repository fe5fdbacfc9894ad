"""Whether a balance lens is prescribed for an eye; none of the lines there are says so."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("dispensing", "0026_hash_of_a_paper")]

    operations = [
        migrations.AddField(
            model_name="prescribedeye",
            name="balance",
            field=models.BooleanField(default=False, verbose_name="balance lens"),
        ),
    ]
