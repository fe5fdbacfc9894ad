"""The chain of seals, append-only like what it is about. Rows written before are sealed by the first sender that runs."""

from django.db import migrations, models

from dispensing.append_only import append_only, no_way_around


class Migration(migrations.Migration):
    dependencies = [("dispensing", "0017_looks_and_where_from")]

    operations = [
        migrations.CreateModel(
            name="Seal",
            fields=[
                ("number", models.PositiveBigIntegerField(primary_key=True, serialize=False)),
                ("table", models.CharField(max_length=63)),
                ("after", models.BigIntegerField()),
                ("through", models.BigIntegerField()),
                ("entries", models.BinaryField()),
                ("sealed_at", models.DateTimeField(db_index=True)),
                ("sha256", models.CharField(max_length=64)),
            ],
            options={
                "ordering": ["number"],
                "constraints": [models.UniqueConstraint(fields=("table", "after"), name="sealed_once")],
            },
        ),
        append_only("dispensing_seal"),
        no_way_around("dispensing_seal"),
    ]
