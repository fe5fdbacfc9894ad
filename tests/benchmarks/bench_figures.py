"""How long a look at the figures takes as the history grows: made-up years, counted, then looked at.

Run by hand: ``python -m tests.benchmarks.bench_figures 2000 20000`` on a database of its own: SQLite in a temporary
folder, or what ``DATABASE_URL`` names, which must be empty. Prints, for each number of orders, what counting all of
them took, and a look when nothing happened, after one event, and a chart.
"""

from __future__ import annotations

import os
import sys
from datetime import timedelta
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

LOOKS = 9


def main(sizes: list[int]) -> None:
    from django.conf import settings
    from django.core.management import call_command

    settings.ALLOWED_HOSTS = ["testserver"]
    settings.SECURE_SSL_REDIRECT = False
    call_command("migrate", verbosity=0)
    from tests.orders.figures.years import START, Years

    years, made = Years(seed=1), 0
    for size in sizes:
        while made < size:
            batch = min(5000, size - made)
            years.make(batch, start=START + timedelta(days=made // 12), days=batch // 12 + 1)
            made += batch
        _measure(made)


def _measure(made: int) -> None:
    from django.utils import timezone

    from orders.models import Order, OrderEvent
    from orders.services.counting import bring_up_to_date
    from tests.people import person, signed_in

    start = perf_counter()
    bring_up_to_date()
    counted, client = perf_counter() - start, signed_in("ines")
    person("ines")

    def look() -> None:
        assert client.get("/figures/").status_code == 200

    def after_an_event() -> None:
        order = Order.objects.filter(sent_at__isnull=False).order_by("-pk")[0]
        OrderEvent.objects.create(order=order, kind="note", at=timezone.now())
        look()

    def chart() -> None:
        assert client.get("/figures/chart.svg?chart=on-time").status_code == 200

    chart()
    took = {name: _took(act) for name, act in (("look", look), ("after an event", after_an_event), ("chart", chart))}
    told = ", ".join(f"{name} {1000 * seconds:.0f} ms" for name, seconds in took.items())
    print(f"{made} orders, {OrderEvent.objects.count()} events: counted in {counted:.1f} s; {told}", flush=True)


def _took(act: Callable[[], None]) -> float:
    times = []
    for _ in range(LOOKS):
        start = perf_counter()
        act()
        times.append(perf_counter() - start)
    return median(times)


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    main([int(argument) for argument in sys.argv[1:]] or [1000, 10_000])
