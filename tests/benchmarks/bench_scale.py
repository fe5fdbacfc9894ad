"""How lists, searches, counters and pages fare as a practice grows. Prints figures and ratios, asserts nothing.

Run: ``python -m tests.benchmarks.bench_scale [2000 20000] [--on postgresql|sqlite] [--rounds 9]``. Each size has a
database of its own in a process of its own (`large_practice`), which is deleted again. The median of the rounds is
shown, in milliseconds of the clock, the larger beside the smaller; ``!`` where it took more than three times as long
and longer than 5 ms, or longer than 100 ms.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

from tests.benchmarks.bench_sending import _database

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
MOST_TIMES, MOST_MS, TOO_SHORT_MS = 3, 100, 5


def main() -> None:
    asked = _asked()
    if asked.one:
        with _database(asked.on):
            print(json.dumps(_measured(asked.sizes[0], asked.rounds)))
        return
    found = [_in_its_own_process(size, asked) for size in asked.sizes]
    first, last = found[0], found[-1]
    print(f"{'':44}" + "".join(f"{size:>12,}" for size in asked.sizes) + f"{'times':>8}")
    for name, before in first.items():
        ratio = last[name] / before
        grows = last[name] > MOST_MS or (ratio > MOST_TIMES and last[name] > TOO_SHORT_MS)
        print(f"{name:44}" + "".join(f"{one[name]:12.1f}" for one in found) + f"{ratio:8.1f}{' !' if grows else ''}")


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", type=int, nargs="*", default=[2000, 20000])
    parser.add_argument("--on", choices=["sqlite", "postgresql"], default="postgresql")
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--one", action="store_true", help=argparse.SUPPRESS)
    return parser.parse_args()


def _in_its_own_process(size: int, asked: argparse.Namespace) -> dict[str, float]:
    command = [sys.executable, "-m", "tests.benchmarks.bench_scale", str(size), "--one"]
    command += ["--on", asked.on, "--rounds", str(asked.rounds)]
    done = subprocess.run(command, stdout=subprocess.PIPE, check=True)
    found: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return found


def _measured(size: int, rounds: int) -> dict[str, float]:
    import django

    django.setup()
    from django.conf import settings
    from django.db import connection

    settings.ALLOWED_HOSTS = ["testserver"]

    connection.creation.create_test_db(verbosity=0)
    try:
        from orders.services.counting import bring_up_to_date
        from tests.benchmarks.large_practice import fill

        began = time.monotonic()
        fill(size)
        bring_up_to_date()
        print(f"{size:,} patients written in {time.monotonic() - began:.0f} s", file=sys.stderr)
        return {name: _median(ask, rounds) for name, ask in _questions().items()}
    finally:
        connection.creation.destroy_test_db(connection.settings_dict["NAME"], verbosity=0)


def _median(ask: Callable[[], Any], rounds: int) -> float:
    ask()
    times = []
    for _ in range(rounds):
        began = time.perf_counter()
        ask()
        times.append(1000 * (time.perf_counter() - began))
    return statistics.median(times)


def _questions() -> dict[str, Callable[[], Any]]:
    """By what is measured. Whom they are about is taken from the middle of the practice."""
    from django.db.models import Max
    from django.utils import timezone

    from dispensing.models import Patient
    from dispensing.queries.duplicates import possible_duplicates
    from dispensing.queries.finding import IN_ORDER, find
    from dispensing.queries.paging import _key
    from orders.models import Order
    from orders.queries import place_counts
    from orders.sending.outbox import _due_longest

    newest = Order.objects.aggregate(last=Max("pk"))["last"]
    order = Order.objects.filter(pk__lte=newest // 2, place="handed over").select_related("patient").latest("pk")
    late, who = Order.objects.filter(place="at the lab").latest("pk"), order.patient
    after = _key(Patient.objects.order_by(*IN_ORDER).filter(family_name__gte="M")[0], IN_ORDER)
    misspelt = who.family_name[:2] + who.family_name[3:]
    names: dict[str, Any] = {"family_name": who.family_name, "given_names": who.given_names, "phone": who.phone}
    return {
        **_pages(order, late),
        "patients found by number": lambda: find(who.phone),
        "patients found by name and birth date": lambda: find(f"{who.family_name} {who.born_on:%d.%m.%Y}"),
        "patients found by both names": lambda: find(f"{who.given_names} {who.family_name}"),
        "patients found by a common part": lambda: find("ton"),
        "patients found by one letter": lambda: find("m"),
        "patients found by a misspelt name": lambda: find(f"{misspelt} {who.born_on:%d.%m.%Y}"),
        "patients found by nothing there is": lambda: find("zzyzx"),
        "patients found by e-mail": lambda: find(who.email),
        "patients found by a common address": lambda: find("mill lane"),
        "patients, half-way": lambda: find("", after=after),
        "one patient by key": lambda: Patient.objects.get(pk=who.pk),
        "duplicates at registration": lambda: possible_duplicates(born_on=who.born_on, **names),
        "places counted": place_counts,
        "what to send next": lambda: _due_longest(timezone.now()),
    }


def _pages(order: Any, late: Any) -> dict[str, Callable[[], Any]]:
    from tests.people import signed_in

    desk, dispenser, manager = signed_in("dora"), signed_in("ravi"), signed_in("ines")
    patient = order.patient
    by_way = {
        "home, front desk": (desk, "/"),
        "home, dispenser": (dispenser, "/"),
        "home, manager": (manager, "/"),
        "the day of the desk": (desk, "/today/"),
        "patients": (desk, "/patients/"),
        "a patient": (dispenser, f"/patients/{patient.public_id}/"),
        "orders": (dispenser, "/orders/"),
        "orders at the lab": (dispenser, "/orders/?place=at+the+lab"),
        "orders handed over": (dispenser, "/orders/?place=handed+over"),
        "late orders": (dispenser, "/orders/?late=on"),
        "orders that did not go": (dispenser, "/orders/?unsent=on"),
        "orders of a patient by name": (dispenser, f"/orders/?text={patient.given_names}+{patient.family_name}"),
        "orders by number": (dispenser, f"/orders/?text={order.number}"),
        "an order of long ago": (dispenser, f"/orders/{order.public_id}/"),
        "an open order": (dispenser, f"/orders/{late.public_id}/"),
        "frames": (dispenser, "/frames/"),
        "frames by model": (dispenser, "/frames/?text=pen"),
        "the trail": (manager, "/audit/"),
        "the trail of one verb": (manager, "/audit/?verb=order.send"),
        "labs": (manager, "/labs/"),
        "figures": (manager, "/figures/"),
        "who waits": (desk, "/waiting/"),
    }
    return {f"page: {name}": _page(client, address) for name, (client, address) in by_way.items()}


def _page(client: Any, address: str) -> Callable[[], Any]:
    def ask() -> None:
        answer = client.get(address)
        if answer.status_code != 200:
            raise SystemExit(f"{address} answers {answer.status_code}")

    return ask


if __name__ == "__main__":
    main()
