from django.db import migrations, models

from dispensing.live_migrations import AddIndexOnline


class Migration(migrations.Migration):
    atomic = False

    dependencies = [("orders", "0026_withdrawals_to_acknowledge")]

    operations = [
        AddIndexOnline(
            "order",
            models.Index(fields=["id"], condition=models.Q(("to_acknowledge", True)), name="order_to_acknowledge"),
        ),
    ]
