"""Many people at work at once: pages answered a second, and orders started a second. Asserts nothing.

Run: ``python -m tests.benchmarks.bench_users [10000 1000000] [--users 100] [--seconds 20]``, or with the URLs of loaded
`practices` in place of sizes. Pages are asked of gunicorn with the settings of an installation by as many people as are
named, each the next page as soon as the last has come; the larger practice should answer at least 0.7 of what the
smaller does. Orders are started by one process, by two and by four; more than the machine has cores cannot show more.
"""

from __future__ import annotations

import argparse
import contextlib
import http.client
import json
import os
import random
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from statistics import quantiles
from typing import Any

from tests.benchmarks.bench_scale import told
from tests.benchmarks.practices import ON, practices, with_database

PEOPLE_TOLD = 2000
STARTERS = (1, 2, 4)
HOST = "localhost"
# What is asked how often, and in whose name: D a dispenser, F the front desk, M a manager.
MIX = {
    ("F", "/"): 6,
    ("D", "/"): 4,
    ("M", "/"): 2,
    ("F", "/today/"): 6,
    ("F", "/patients/"): 3,
    ("F", "/patients/{patient}/"): 10,
    ("D", "/patients/{patient}/"): 20,
    ("D", "/orders/{order}/"): 20,
    ("D", "/orders/?text={number}"): 8,
    ("D", "/orders/"): 8,
    ("M", "/orders/?late=on"): 3,
    ("D", "/frames/?text=pen"): 4,
    ("M", "/audit/"): 1,
    ("M", "/figures/"): 1,
    ("F", "/waiting/"): 4,
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("practices", nargs="*", default=["10000", "1000000"])
    parser.add_argument("--on", choices=ON, default=ON[0])
    parser.add_argument("--users", type=int, default=100)
    parser.add_argument("--seconds", type=int, default=20)
    parser.add_argument("--start-orders", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--tell", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.tell:
        print(json.dumps(_whom_and_what()))
    elif asked.start_orders is not None:
        print(_started(asked.start_orders, asked.seconds))
    else:
        with practices(asked.practices, asked.on) as urls:
            _compare(urls, asked.users, asked.seconds)


def _compare(urls: list[str], users: int, seconds: int) -> None:
    rates = [_pages(url, users, seconds) for url in urls]
    print(f"the largest answers {rates[-1] / rates[0]:.2f} of the smallest")
    for url in urls:
        by_starters = {count: _orders(url, count, seconds) for count in STARTERS}
        rates_told = ", ".join(f"{count}: {rate:.0f}" for count, rate in by_starters.items())
        print(f"{told(url)}: orders started a second by so many processes: {rates_told}", flush=True)


# Pages


@dataclass
class Answers:
    """What a number of people were answered: seconds of each, and how many of each status."""

    seconds: list[float] = field(default_factory=list)
    statuses: Counter[int] = field(default_factory=Counter)


def _pages(url: str, users: int, seconds: int) -> float:
    of = json.loads(_in_python(url, "--tell").stdout)
    with tempfile.TemporaryDirectory() as folder, _served(url, Path(folder), of["secret"]) as port:
        answers, until = Answers(), time.monotonic() + seconds
        people = [threading.Thread(target=_works, args=(port, of, until, seed, answers)) for seed in range(users)]
        for person in people:
            person.start()
        for person in people:
            person.join()
    cuts = quantiles(answers.seconds, n=20)
    faults = sum(count for status, count in answers.statuses.items() if status != 200)
    rate = (len(answers.seconds) - faults) / seconds
    print(
        f"{told(url)}: {rate:.1f} pages a second to {users} people, {faults} faults {dict(answers.statuses)}; "
        f"half within {cuts[9]:.2f} s, 19 of 20 within {cuts[18]:.2f} s",
        flush=True,
    )
    return rate


def _works(port: int, of: dict[str, Any], until: float, seed: int, answers: Answers) -> None:
    draw, ways = random.Random(seed), list(MIX)
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    while time.monotonic() < until:
        who, address = draw.choices(ways, weights=list(MIX.values()))[0]
        patient, order, number = draw.choice(of["people"])
        asked = address.format(patient=patient, order=order, number=number)
        began = time.monotonic()
        line.request("GET", asked, headers={"Cookie": f"{of['cookie']}={of['sessions'][who]}", "Host": HOST})
        answer = line.getresponse()
        answer.read()
        answers.seconds.append(time.monotonic() - began)
        answers.statuses[answer.status] += 1
    line.close()


@contextlib.contextmanager
def _served(url: str, folder: Path, secret: str) -> Iterator[int]:
    """Gunicorn as an installation has it, without a proxy before it; yields its port."""
    from tests.deployment.stack import free_port, until_it_listens, web_process

    port, log = free_port(), folder / "log"
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("DJANGO_", "TEST_"))}
    environ = {
        **kept, "DATABASE_URL": url, "SECRET_KEY": secret, "ALLOWED_HOSTS": HOST, "HTTPS": "no",
        "DATUMLINE_DATA_DIR": str(folder / "data"),
    }  # fmt: skip
    collect = [sys.executable, "manage.py", "collectstatic", "--noinput", "--verbosity=0"]
    subprocess.run(collect, env=environ, check=True)
    process = web_process(port, environ, log)
    try:
        until_it_listens(process, port, log)
        yield port
    finally:
        process.terminate()
        process.wait()


def _whom_and_what() -> dict[str, Any]:
    """Sessions of three people, and patients with an order each from all over the practice."""
    import django

    django.setup()
    from django.conf import settings
    from django.db.models import Max

    from orders.models import Order
    from tests.people import signed_in

    settings.ALLOWED_HOSTS = ["testserver"]
    cookie = settings.SESSION_COOKIE_NAME
    sessions = {}
    for letter, name in {"F": "dora", "D": "ravi", "M": "ines"}.items():
        client = signed_in(name)
        client.get("/")
        sessions[letter] = client.cookies[cookie].value
    newest = Order.objects.aggregate(last=Max("pk"))["last"]
    drawn = random.Random(1).sample(range(1, newest + 1), min(PEOPLE_TOLD, newest))
    rows = Order.objects.filter(pk__in=drawn).values_list("patient__public_id", "public_id", "number")
    people = [[str(patient), str(order), number] for patient, order, number in rows]
    return {"secret": settings.SECRET_KEY, "cookie": cookie, "sessions": sessions, "people": people}


# Orders


def _orders(url: str, starters: int, seconds: int) -> float:
    processes = [
        subprocess.Popen(
            _command("--start-orders", str(number), "--seconds", str(seconds)),
            env=with_database(url),
            stdout=subprocess.PIPE,
        )
        for number in range(starters)
    ]
    return sum(float(process.communicate()[0]) for process in processes)


def _started(number: int, seconds: int) -> float:
    """How many orders this process starts a second, each for another patient, as the desk does."""
    import django

    django.setup()
    from dispensing.models import Patient, StaffUser
    from orders.services.drafts import start_draft

    actor = StaffUser.objects.filter(role="dispenser")[number]
    patients = list(Patient.objects.order_by("-pk")[number * 1000 : (number + 1) * 1000])
    for patient in patients[:3]:
        start_draft(patient=patient, actor=actor, prescription=patient.prescriptions.latest("pk"))
    began, count = time.monotonic(), 0
    while time.monotonic() - began < seconds:
        patient = patients[count % len(patients)]
        start_draft(patient=patient, actor=actor, prescription=patient.prescriptions.latest("pk"))
        count += 1
    return count / (time.monotonic() - began)


def _command(*more: str) -> list[str]:
    return [sys.executable, "-m", "tests.benchmarks.bench_users", *more]


def _in_python(url: str, *more: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(_command(*more), env=with_database(url), stdout=subprocess.PIPE, check=True)


if __name__ == "__main__":
    main()
