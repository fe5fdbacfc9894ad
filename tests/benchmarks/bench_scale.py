"""How lists, searches, counters and pages fare as a practice grows. Prints figures and ratios, asserts nothing.

Run: ``python -m tests.benchmarks.bench_scale [2000 20000] [--on postgresql|sqlite] [--rounds 9]``, or with the URLs of
loaded `practices` in place of sizes. Each database is asked by a process of its own, the same question one after the
other, so that a machine that is busy for a while is busy for all of them. The median of the rounds is shown, in
milliseconds of the clock, the larger beside the smaller; ``!`` where it took more than three times as long and longer
than 5 ms, or longer than 100 ms.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack, closing
from typing import Any

from tests.benchmarks.practices import ON, practices, with_database

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
MOST_TIMES, MOST_MS, TOO_SHORT_MS = 3, 100, 5


def main() -> None:
    asked = _asked()
    if asked.answer:
        _answer(asked.rounds)
        return
    with practices(asked.practices, asked.on) as urls, ExitStack() as running:
        of_each = [running.enter_context(closing(_Asked(url, asked.rounds))) for url in urls]
        print(f"{'':44}" + "".join(f"{told(url):>18}" for url in urls) + f"{'times':>8}")
        for name in of_each[0].names:
            _print(name, [one.took(name) for one in of_each])


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("practices", nargs="*", default=["2000", "20000"])
    parser.add_argument("--on", choices=ON, default=ON[0])
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--answer", action="store_true", help=argparse.SUPPRESS)
    return parser.parse_args()


def told(url: str) -> str:
    """A database by its name."""
    return url.partition("?")[0].rpartition("/")[2].removesuffix(".sqlite3")


class _Asked:
    """A process that answers from one database."""

    def __init__(self, url: str, rounds: int) -> None:
        command = [sys.executable, "-m", "tests.benchmarks.bench_scale", "--answer", "--rounds", str(rounds)]
        self.process = subprocess.Popen(
            command, env=with_database(url), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1
        )
        self.names = self._line().split("|")

    def took(self, name: str) -> float:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{name}\n")
        return float(self._line())

    def _line(self) -> str:
        assert self.process.stdout is not None
        return self.process.stdout.readline().rstrip("\n")

    def close(self) -> None:
        self.process.communicate()


def _print(name: str, took: list[float]) -> None:
    ratio = took[-1] / took[0]
    grows = took[-1] > MOST_MS or (ratio > MOST_TIMES and took[-1] > TOO_SHORT_MS)
    times = "".join(f"{one:18.1f}" for one in took)
    print(f"{name:44}{times}{ratio:8.1f}{' !' if grows else ''}", flush=True)


def _answer(rounds: int) -> None:
    """Measures what is named on standard input, line by line."""
    import django

    django.setup()
    from django.conf import settings

    settings.ALLOWED_HOSTS = ["testserver"]
    questions = _questions()
    print("|".join(questions), flush=True)
    for line in sys.stdin:
        print(_median(questions[line.rstrip("\n")], rounds), flush=True)


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
        "orders, the stuck first": (manager, "/orders/?sort=stuck"),
        "orders by day needed": (manager, "/orders/?sort=needed"),
        "orders by dispenser, open": (manager, "/orders/?place=open&sort=dispenser"),
        "orders that will soon be late": (manager, "/orders/?show=soon"),
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
        "the trail of a patient": (manager, f"/audit/patients/{patient.public_id}/"),
        "prescriptions that end": (desk, "/prescriptions/ending/"),
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
