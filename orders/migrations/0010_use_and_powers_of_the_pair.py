from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("orders", "0009_versions")]

    operations = [
        migrations.AddField(
            "order",
            "use",
            models.CharField(
                "use of the pair",
                max_length=20,
                blank=True,
                choices=[
                    ("distance", "Distance"),
                    ("intermediate", "Intermediate"),
                    ("near", "Near"),
                    ("distance_and_near", "Distance and near"),
                ],
                default="",
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "order",
            "power_basis",
            models.CharField(
                "what the powers allow for",
                max_length=20,
                blank=True,
                choices=[
                    ("as_prescribed", "As prescribed"),
                    ("carried_to_vertex", "Carried to the vertex distance as worn"),
                    ("as_worn", "Compensated for the position of wear"),
                ],
                default="",
            ),
            preserve_default=False,
        ),
        migrations.AddField("order", "powers", models.JSONField(default=dict, blank=True)),
    ]
