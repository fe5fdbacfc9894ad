"""How many orders leave a second, and what becomes of them while senders are killed. Prints figures, asserts nothing.

Run: ``python -m tests.benchmarks.bench_sending [--orders 1000] [--kills 60] [--on sqlite|postgresql]``.
It makes a database of its own and deletes it again. There are two receivers on loopback: one that is posted to, refuses
what it has and often breaks off or answers 500, and a mail server, which cannot refuse what it has.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import time
from collections.abc import Iterator

from tests.postgres import running_server

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
CLAIMS = 300


def main() -> None:
    asked = _asked()
    with _database(asked.on):
        import django

        django.setup()
        from django.db import connection

        connection.creation.create_test_db(verbosity=0)
        try:
            _speed(asked.orders)
            for way in ("https", "email"):
                _killed(way, asked.orders, asked.kills)
        finally:
            connection.creation.destroy_test_db(connection.settings_dict["NAME"], verbosity=0)


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--orders", type=int, default=1000)
    parser.add_argument("--kills", type=int, default=60)
    parser.add_argument("--on", choices=["sqlite", "postgresql"], default="sqlite")
    return parser.parse_args()


@contextlib.contextmanager
def _database(which: str) -> Iterator[None]:
    if which == "sqlite":
        yield
        return
    with running_server() as url:
        os.environ["DATABASE_URL"] = url
        yield


def _empty() -> None:
    from django.core.management import call_command

    import tests.append_only_flush  # noqa: F401 - lets the append-only tables be emptied

    call_command("flush", verbosity=0, interactive=False)


def _speed(orders: int) -> None:
    from django.utils import timezone

    from orders.models import Delivery
    from orders.sending.outbox import claim_next
    from tests.orders.sending import killing

    print(f"{'what':42} {'a second':>9}")
    killing._outbox(CLAIMS, "https", "http://127.0.0.1:1/")
    began = time.monotonic()
    while claim_next(timezone.now()) is not None:
        pass
    print(f"{'claims, one sender':42} {CLAIMS / (time.monotonic() - began):9.0f}")
    assert not Delivery.objects.filter(state="queued").exists()
    for workers in (1, 2):
        _empty()
        shares, killing.SHARES = killing.SHARES, {"200": 100}
        found = killing.run(orders=orders, kills=0, workers=workers)
        killing.SHARES = shares
        print(f"{f'signed posts delivered, {workers} senders':42} {orders / found.seconds:9.0f}")


def _killed(way: str, orders: int, kills: int) -> None:
    from tests.orders.sending.killing import run

    _empty()
    found = run(orders=orders, kills=kills, way=way)
    print(f"\n{way}: {orders} orders, two senders, {found.kills} killed, {found.seconds:.0f} s")
    print(f"  taken by the lab {len(found.taken)}, twice {found.twice}, posted again and refused {found.refused}")
    print(f"  lost {found.lost}, stuck {found.stuck}, only a person can settle {found.for_a_person}: {found.states}")


if __name__ == "__main__":
    main()
