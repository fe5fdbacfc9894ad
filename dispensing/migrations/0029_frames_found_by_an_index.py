from django.db import migrations, models

from dispensing.live_migrations import AddIndexOnline
from dispensing.search_index import frames_indexed


class Migration(migrations.Migration):
    atomic = False

    dependencies = [("dispensing", "0028_patients_not_asked")]

    operations = [
        frames_indexed(),
        # Frames that are not sold any more only become more.
        AddIndexOnline(
            "frame",
            models.Index(
                fields=["model", "id"],
                condition=models.Q(("owner", None), ("withdrawn", False)),
                name="frame_in_stock_by_model",
            ),
        ),
    ]
