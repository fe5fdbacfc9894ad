from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("dispensing", "0003_photo_fittings")]

    operations = [
        migrations.AddField("staffuser", "password_is_temporary", models.BooleanField(default=False, editable=False)),
    ]
