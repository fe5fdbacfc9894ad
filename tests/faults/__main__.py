"""Many rounds of trouble, and what they left behind; exit code 1 if anything was lost, done twice, stuck or wrong.

Run as root (it mounts small disks): ``python -m tests.faults --rounds 60 --on sqlite|postgresql [--seed 4711]
[--only disk_full]``. Everything lies in a folder of its own and is gone afterwards.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING

from cryptography.fernet import Fernet

if TYPE_CHECKING:
    from tests.faults.counting import Counted, Taken
    from tests.faults.rounds import Scene, Trouble

WORKERS = 3
SECONDS_TO_FINISH = 120


def main() -> int:
    asked = _asked()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(2))  # so that nothing is left running
    chance = random.Random(asked.seed)
    with tempfile.TemporaryDirectory(prefix="datumline-faults-", dir="/tmp") as name, contextlib.ExitStack() as stack:
        folder = Path(name)
        folder.chmod(0o755)  # the server of the database is another user
        scene, taken = stack.enter_context(_scene(folder, asked.on, chance))
        from tests.faults import rounds

        troubles = [*rounds.EVERYWHERE, *(rounds.ON_POSTGRESQL if scene.database else ())]
        troubles = [trouble for trouble in troubles if not asked.only or trouble.__name__ in asked.only]
        order = [trouble for _ in range(asked.rounds) for trouble in chance.sample(troubles, len(troubles))]
        total: dict[str, Counted] = {}
        for number, trouble in enumerate(order[: asked.rounds], start=1):
            began = time.monotonic()
            counted = _round(scene, taken, trouble)
            _add(total, trouble.__name__, counted)
            print(
                f"{number:4} {trouble.__name__:26} {time.monotonic() - began:5.0f} s  {_figures(counted)}", flush=True
            )
            for said in counted.named:
                print(f"     {said}", flush=True)
    return _told(total)


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=12)
    parser.add_argument("--on", choices=["sqlite", "postgresql"], default="sqlite")
    parser.add_argument("--seed", type=int, default=4711)
    parser.add_argument("--only", action="append", default=[], metavar="TROUBLE")
    return parser.parse_args()


@contextlib.contextmanager
def _scene(folder: Path, on: str, chance: random.Random) -> Iterator[tuple[Scene, Taken]]:
    """The installation as a practice has it, set up and running, with a manager signed in as often as needed."""
    from tests.faults.machine import Database, small_disk

    with contextlib.ExitStack() as stack:
        disk = stack.enter_context(small_disk(folder / "data", 300))
        database = None
        url = f"sqlite:///{disk}/datumline.sqlite3"
        if on == "postgresql":
            database = Database(stack.enter_context(small_disk(folder / "database", 400)))
            stack.callback(database.stop)
            url = database.url
        keys = Fernet.generate_key().decode(), Fernet.generate_key().decode()
        os.environ.update(_environment(disk, url, keys))
        import django

        django.setup()
        from tests.faults.practice import open_practice

        yield stack.enter_context(open_practice(folder, disk, database, chance, keys))


def _environment(disk: Path, url: str, keys: tuple[str, str]) -> dict[str, str]:
    return {
        "DJANGO_SETTINGS_MODULE": "dispensing.settings",
        "DATUMLINE_BOOTSTRAP": "0",
        "DATABASE_URL": url,
        "SECRET_KEY": "of-these-rounds-alone-" * 4,
        "ALLOWED_HOSTS": "localhost,testserver",
        "HTTPS": "no",
        "DATUMLINE_DATA_DIR": str(disk),
        "ENCRYPTION_KEYS": ",".join(keys),
        "LABS_ON_THIS_MACHINE": "yes",
        "WEB_CONCURRENCY": "2",
        "WEB_THREADS": "4",
    }


def _round(scene: Scene, taken: Taken, trouble: Trouble) -> Counted:
    from django.db import connection
    from django.db.models import Max

    from orders.models import Delivery
    from tests.faults import counting
    from tests.faults.practice import workers
    from tests.faults.rounds import people_at_work, settle, until_the_database_answers

    counted = counting.Counted()
    before = Delivery.objects.aggregate(last=Max("pk"))["last"] or 0
    at_work = workers(scene, WORKERS)
    with people_at_work(at_work, SECONDS_TO_FINISH):
        trouble(scene, counted)
    until_the_database_answers()
    settle(scene, counted)
    counting.of_jobs((job for worker in at_work for job in worker.jobs), counted)
    counting.of_deliveries(before, taken, counted)
    counting.of_files(counted)
    counting.of_the_record(counted)
    connection.close()
    return counted


def _add(total: dict[str, Counted], name: str, counted: Counted) -> None:
    if name not in total:
        total[name] = counted
        return
    for own in fields(counted):
        now, more = getattr(total[name], own.name), getattr(counted, own.name)
        setattr(total[name], own.name, now + more)


def _figures(counted: Counted) -> str:
    kinds = ("jobs", "lost", "twice", "stuck", "undone", "wrong", "for_a_person")
    return ", ".join(f"{kind.replace('_', ' ')} {getattr(counted, kind)}" for kind in kinds)


def _told(total: dict[str, Counted]) -> int:
    print()
    for name, counted in sorted(total.items()):
        print(f"{name}: {_figures(counted)}")
        for what, times in sorted(counted.seen.items()):
            print(f"    {what}: {times}")
    return int(any(counted.faults for counted in total.values()))


if __name__ == "__main__":
    sys.exit(main())
