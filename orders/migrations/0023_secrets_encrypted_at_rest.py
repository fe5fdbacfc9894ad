"""Room for a lab's secret as it is encrypted. PostgreSQL only notes the new length; no row is written anew there."""

from django.db import migrations

import dispensing.at_rest


class Migration(migrations.Migration):
    dependencies = [("orders", "0022_hashes_of_files")]

    operations = [
        migrations.AlterField(
            model_name="labsecret",
            name="text",
            field=dispensing.at_rest.EncryptedText(max_length=400),
        ),
    ]
