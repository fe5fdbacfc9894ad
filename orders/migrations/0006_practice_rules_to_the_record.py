from django.db import migrations

FIELDS = ("public_id", "rule", "kind", "limit", "value", "reason", "decided_on", "decided_by_id")


def copy(source: str, target: str):
    """Carry every decision over under its own public id, which is what the audit trail names it by."""

    def rows(apps, schema_editor):
        decided = apps.get_model(source, "PracticeRule").objects.order_by("pk").values(*FIELDS)
        model = apps.get_model(target, "PracticeRule")
        model.objects.bulk_create(model(**row) for row in decided)

    return rows


class Migration(migrations.Migration):
    """What a practice set for itself also holds where prescriptions and fittings are typed, below the orders."""

    dependencies = [
        ("orders", "0005_no_way_around_append_only"),
        ("dispensing", "0007_practice_rules"),
    ]

    operations = [
        migrations.RunPython(copy("orders", "dispensing"), copy("dispensing", "orders")),
        migrations.DeleteModel("PracticeRule"),
    ]
