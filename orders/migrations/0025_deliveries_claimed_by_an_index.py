from django.db import migrations, models

from dispensing.live_migrations import AddIndexOnline, RemoveIndexOnline


class Migration(migrations.Migration):
    atomic = False

    dependencies = [
        ("orders", "0024_notices_to_patients"),
    ]

    operations = [
        AddIndexOnline(
            "delivery",
            models.Index(fields=["state", "channel", "next_try_at", "id"], name="delivery_due_by_way"),
        ),
        RemoveIndexOnline("delivery", "delivery_due"),
    ]
