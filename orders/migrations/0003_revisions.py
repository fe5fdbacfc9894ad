from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("orders", "0002_append_only")]

    operations = [
        migrations.AlterField(
            model_name="order",
            name="number",
            field=models.CharField(db_index=True, editable=False, max_length=20),
        ),
        migrations.AddConstraint(
            model_name="order",
            constraint=models.UniqueConstraint(fields=("number", "revision"), name="order_once_a_revision"),
        ),
    ]
