from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("dispensing", "0021_name_the_tokens_there_are"),
    ]

    operations = [
        migrations.CreateModel(
            name="NameKey",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=30)),
                ("word", models.CharField(max_length=30)),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("key", "word"), name="name_key_once")],
            },
        ),
        migrations.AddField(
            model_name="patient",
            name="contact_text",
            # Kept in the database too: whoever registers a patient while this runs does not know of the column.
            field=models.TextField(db_default="", default="", editable=False),
        ),
    ]
