from django.db import migrations

from dispensing.append_only import no_way_around


class Migration(migrations.Migration):
    dependencies = [("dispensing", "0004_temporary_passwords")]

    operations = [no_way_around("dispensing_auditevent")]
