from django.db import migrations

from dispensing.append_only import no_way_around


class Migration(migrations.Migration):
    dependencies = [("orders", "0004_practice_rules")]

    operations = [no_way_around("orders_orderdocument", "orders_orderevent")]
