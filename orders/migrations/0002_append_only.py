from django.db import migrations

from dispensing.append_only import append_only


class Migration(migrations.Migration):
    dependencies = [("orders", "0001_initial")]

    operations = [append_only("orders_orderdocument"), append_only("orders_orderevent")]
