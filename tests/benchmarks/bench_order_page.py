"""How long the order page's live update takes on the server, with the demo's own data. Prints figures, asserts nothing.

Run: ``DATUMLINE_DATA_DIR=… python -m tests.benchmarks.bench_order_page`` on a folder that holds the demo
(``manage.py demo``). Every draft is saved as its page would save it, with a different remark each time.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispensing.settings")

ROUNDS = 10
AIM_MS = 100
NO_DEMO = (
    "There is no demo practice in {place}. Make one with `python3 manage.py demo`, "
    "or set DATUMLINE_DATA_DIR to a folder that holds one."
)


def main() -> None:
    import django

    django.setup()
    from django.conf import settings
    from django.db import DatabaseError, connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext
    from django.urls import reverse

    from dispensing.models import StaffUser
    from dispensing.roles import Role
    from orders.models import Order
    from tests.orders.views.desk import HTMX, typed_on

    settings.ALLOWED_HOSTS = ["testserver"]
    client = Client()
    try:
        dispenser = StaffUser.objects.filter(role=Role.DISPENSER).first()
    except DatabaseError:  # Not even tables.
        dispenser = None
    if dispenser is None or not Order.objects.filter(state="draft").exists():
        sys.exit(NO_DEMO.format(place=settings.DATA_DIR))
    client.force_login(dispenser, backend="django.contrib.auth.backends.ModelBackend")
    print(f"{'order':10} {'median ms':>10} {'slowest ms':>11} {'queries':>8} {'of the aim':>11}")
    for order in Order.objects.filter(state="draft"):
        address = reverse("order-live", args=[order.public_id])
        values = typed_on(client.get(reverse("order-page", args=[order.public_id])).content.decode())

        def save(turn: int, order: Order = order, address: str = address, values: dict[str, Any] = values) -> None:
            version = Order.objects.get(pk=order.pk).version
            answer = client.post(address, {**values, "remarks": f"Turn {turn}", "version": version}, headers=HTMX)
            assert answer.status_code == 200

        with CaptureQueriesContext(connection) as asked:
            save(0)
        queries, times = len(asked), []
        for turn in range(1, ROUNDS + 1):
            start = time.perf_counter()
            save(turn)
            times.append((time.perf_counter() - start) * 1000)
        middle = statistics.median(times)
        print(f"{order.number:10} {middle:10.1f} {max(times):11.1f} {queries:8} {middle / AIM_MS:11.0%}")


if __name__ == "__main__":
    main()
