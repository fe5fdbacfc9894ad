from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("orders", "0008_words_of_the_frame_source")]

    operations = [
        migrations.AddField("lab", "version", models.PositiveIntegerField(default=1, editable=False)),
    ]
