"""Of which withdrawn orders the lab has not said that it knows, kept with them: asked of the events, it was asked of all
orders that were ever withdrawn.
"""

from django.db import migrations, models
from django.db.models import Exists, OuterRef


def mark_them(apps, schema_editor):
    orders, events = apps.get_model("orders", "Order"), apps.get_model("orders", "OrderEvent")
    told = apps.get_model("orders", "Delivery").objects.filter(document__order=OuterRef("pk"), message="withdrawal")
    known = events.objects.filter(order=OuterRef("pk"), kind="acknowledged")
    withdrawn = orders.objects.filter(place__in=("cancelled", "superseded"))
    withdrawn.filter(Exists(told), ~Exists(known)).update(to_acknowledge=True)


class Migration(migrations.Migration):
    dependencies = [("orders", "0025_deliveries_claimed_by_an_index")]

    operations = [
        migrations.AddField(
            "order", "to_acknowledge", models.BooleanField(db_default=False, default=False, editable=False)
        ),
        migrations.RunPython(mark_them, migrations.RunPython.noop),
    ]
