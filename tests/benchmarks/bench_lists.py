"""The desk's day, the board and its file beside few and many finished orders. Asserts nothing.

Run: ``python -m tests.benchmarks.bench_lists [--few 10000] [--many 1000000] [--on postgresql|sqlite]``. It makes a
database of its own and deletes it again. The open orders are the same 400 in both: what a list costs must follow them.
The aim: at many within 3 times the time at few. The file of all rows must need no more memory than that of
few; it is slower while that is traced.
"""

from __future__ import annotations

import argparse
import os
import time
import tracemalloc
from collections.abc import Callable
from statistics import median
from typing import Any

from tests.benchmarks.bench_sending import _database

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
OPEN = 400
ORDERS_A_PATIENT = 4
TRIES = 7


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--few", type=int, default=10_000)
    parser.add_argument("--many", type=int, default=1_000_000)
    parser.add_argument("--on", choices=["sqlite", "postgresql"], default="postgresql")
    asked = parser.parse_args()
    with _database(asked.on):
        import django

        django.setup()
        from django.db import connection
        from django.test.utils import setup_test_environment

        setup_test_environment()
        connection.creation.create_test_db(verbosity=0)
        try:
            _compare(asked.few, asked.many)
        finally:
            connection.creation.destroy_test_db(connection.settings_dict["NAME"], verbosity=0)


def _compare(few: int, many: int) -> None:
    _fill(OPEN, open_ones=True)
    _fill(few)
    first = {name: _timed(ask) for name, ask in _questions().items()}
    _file(few)
    _fill(many - few)
    print(f"{'':32}{few:>12,}{many:>14,}  ratio")
    for name, ask in _questions().items():
        now = _timed(ask)
        print(f"{name:32}{1000 * first[name]:9.1f} ms{1000 * now:11.1f} ms  {now / first[name]:5.2f}")
    _file(many)


def _questions() -> dict[str, Callable[[], Any]]:
    from django.urls import reverse

    from tests.people import signed_in

    client = signed_in("ines")

    def page(name: str, text: str = "", **asked: str) -> Callable[[], Any]:
        def ask() -> None:
            address = reverse(name)
            answer = client.post(address, {"text": text, **asked}) if text else client.get(address, asked)
            assert answer.status_code in (200, 302), answer.status_code

        return ask

    return {
        "home": page("home"),
        "today at the desk": page("desk-day"),
        "at the counter, by name": page("desk-day", text="Lindqvist 4711"),
        "orders, newest": page("order-list"),
        "orders, open": page("order-list", place="open"),
        "orders, handed over": page("order-list", place="handed over"),
        "orders, stuck first": page("order-list", sort="stuck"),
        "orders, by day needed": page("order-list", sort="needed"),
        "orders, late soon": page("order-list", show="soon"),
        "orders, by number": page("order-list", text="d-4711"),
        "orders, by name": page("order-list", text="Lindqvist 4711"),
    }


def _timed(ask: Callable[[], Any]) -> float:
    """Seconds, the median of some tries after the first."""
    ask()
    took = []
    for _ in range(TRIES):
        began = time.perf_counter()
        ask()
        took.append(time.perf_counter() - began)
    return median(took)


def _file(count: int) -> None:
    from dispensing.spreadsheets import csv_lines
    from orders.board_queries import whole_board
    from orders.presentation.board import FILE_HEADS, file_rows
    from orders.queries import BoardFilter

    tracemalloc.start()
    began, size = time.perf_counter(), 0
    for line in csv_lines(FILE_HEADS, file_rows(whole_board(BoardFilter()))):
        size += len(line)
    took, peak = time.perf_counter() - began, tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    print(f"CSV of {count + OPEN:,} orders: {took:.1f} s, {size / 1e6:.1f} MB; at most {peak / 1e6:.1f} MB of Python's")


def _fill(count: int, *, open_ones: bool = False) -> None:
    """So many more orders, handed over or open, and their patients; no service is run for them."""
    from django.db import connection

    from orders.models import Order
    from tests.orders import shop

    lab, dana = shop.lab(), shop.dispenser()
    for start in range(0, count, 20_000):
        _chunk(Order, min(20_000, count - start), open_ones, lab, dana)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _chunk(orders: Any, count: int, open_ones: bool, lab: Any, dana: Any) -> None:
    from datetime import timedelta

    from django.utils import timezone

    from dispensing.models import Patient
    from dispensing.search_words import contact_text, own_text
    from orders.progress import UNFINISHED

    now, first = timezone.now(), orders.objects.count()
    people = [
        Patient(reference=f"P-{first + n:06d}", family_name=f"Lindqvist {first + n}", given_names="Åsa",
                born_on=(now - timedelta(days=9000 + n % 20000)).date())
        for n in range(count // ORDERS_A_PATIENT + 1)
    ]  # fmt: skip
    for person in people:
        person.search_text, person.contact_text = own_text(person, "GB"), contact_text(person, "GB")
    people = Patient.objects.bulk_create(people)
    places = [str(place) for place in UNFINISHED if place != "draft"] if open_ones else ["handed over"]
    rows = []
    for n in range(count):
        since = now - timedelta(hours=n % 500 if open_ones else 1000 + n % 20000)
        rows.append(
            orders(
                number=f"D-{first + n + 1:05d}", state="sent", sent_at=since, sent_by=dana, created_by=dana, lab=lab,
                patient=people[n % len(people)], place=places[n % len(places)], place_since=since, moved_at=since,
                needed_on=(since + timedelta(days=14)).date(), expected_on=(since + timedelta(days=9 + n % 9)).date(),
            )
        )  # fmt: skip
    orders.objects.bulk_create(rows, batch_size=5000)


if __name__ == "__main__":
    main()
