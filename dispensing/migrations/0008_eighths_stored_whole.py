from decimal import Decimal

from django.db import migrations, models

POWERS = ("sphere", "cylinder", "add", "intermediate_add")
CUT = {Decimal("0.12"), Decimal("0.37"), Decimal("0.62"), Decimal("0.87")}
LOST = Decimal("0.005")


def restore(apps, schema_editor):
    """An eighth was stored cut to two decimals: -3.37 is -3.375."""
    _change(apps, lambda power: power + LOST.copy_sign(power) if abs(power) % 1 in CUT else power)


def cut(apps, schema_editor):
    _change(apps, lambda power: power - LOST.copy_sign(power) if abs(power) % 1 - LOST in CUT else power)


def _change(apps, changed):
    for eye in apps.get_model("dispensing", "PrescribedEye").objects.iterator(chunk_size=500):
        before = [getattr(eye, name) for name in POWERS]
        after = [None if power is None else changed(power) for power in before]
        if after != before:
            for name, power in zip(POWERS, after):
                setattr(eye, name, power)
            eye.save(update_fields=POWERS)


def power(digits):
    return models.DecimalField(blank=True, decimal_places=3, max_digits=digits, null=True)


class Migration(migrations.Migration):
    dependencies = [("dispensing", "0007_practice_rules")]

    operations = [
        migrations.AlterField("prescribedeye", "sphere", power(6)),
        migrations.AlterField("prescribedeye", "cylinder", power(6)),
        migrations.AlterField("prescribedeye", "add", power(5)),
        migrations.AlterField("prescribedeye", "intermediate_add", power(5)),
        migrations.RunPython(restore, cut),
    ]
