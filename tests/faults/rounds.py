"""One round each: people work, the trouble comes, it passes, and what was begun is ended."""

from __future__ import annotations

import contextlib
import os
import random
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from threading import Event

from django.db import Error, close_old_connections, connection
from django.utils import timezone

from orders.models import Delivery
from tests.faults.counting import Counted
from tests.faults.jobs import Worker
from tests.faults.machine import ROOT, Database, Processes, full

A_WHILE = 0.2, 1.5
KILLS = 3


@dataclass
class Scene:
    """All that a trouble may touch. ``database``: None on SQLite. ``keys``: for encryption, in either order."""

    folder: Path
    disk: Path
    environ: dict[str, str]
    processes: Processes
    database: Database | None
    chance: random.Random
    keys: tuple[str, str]

    def wait(self) -> None:
        Event().wait(self.chance.uniform(*A_WHILE))

    def command(self, *words: str, **environ: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "manage.py", *words],
            cwd=ROOT,
            env={**self.environ, **environ},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )

    def killed_and_again(self, counted: Counted, *words: str, again: tuple[str, ...] = (), **environ: str) -> None:
        """A command killed at some moment of its work; then it must come to its end, and without a complaint."""
        command = self.command(*words, **environ)
        with contextlib.suppress(subprocess.TimeoutExpired):
            command.wait(self.chance.uniform(0.8, 6.0))
        counted.seen[f"{words[0]} killed" if command.poll() is None else f"{words[0]} had ended"] += 1
        command.kill()
        command.communicate()
        command = self.command(*words, *again, **environ)
        said, _ = command.communicate()
        if command.returncode:
            counted.fault("wrong", f"{words[0]}, called again, says {said.strip()[-400:]}")


Trouble = Callable[[Scene, Counted], None]


def web_worker_killed(scene: Scene, counted: Counted) -> None:
    for _ in range(KILLS):
        scene.wait()
        counted.seen["web workers killed"] += scene.processes.kill_worker()


def web_killed(scene: Scene, counted: Counted) -> None:
    for _ in range(2):
        scene.wait()
        scene.processes.kill_web()
        counted.seen["web servers killed"] += 1


def sender_killed(scene: Scene, counted: Counted) -> None:
    for _ in range(KILLS):
        scene.wait()
        scene.processes.kill_sender(scene.chance.randrange(2))
        counted.seen["senders killed"] += 1


def doctor_killed(scene: Scene, counted: Counted) -> None:
    only = [word for check in ("order-documents", "seals", "stored-files") for word in ("--only", check)]
    scene.killed_and_again(counted, "doctor", *only, again=("--go-on",))


def encryption_killed(scene: Scene, counted: Counted) -> None:
    scene.keys = scene.keys[1], scene.keys[0]
    scene.killed_and_again(counted, "encrypt_at_rest", ENCRYPTION_KEYS=",".join(scene.keys))


def migrate_killed(scene: Scene, counted: Counted) -> None:
    """Of an empty database; afterwards nothing is left to migrate."""
    name = f"killed{scene.chance.randrange(10**9)}"
    url = f"sqlite:///{scene.folder}/{name}.sqlite3"
    if scene.database is not None:
        url = scene.database.url.replace("/postgres?", f"/{name}?")
        with connection.cursor() as cursor:
            cursor.execute(f"CREATE DATABASE {name}")
    scene.killed_and_again(counted, "migrate", DATABASE_URL=url)
    left = scene.command("migrate", "--check", DATABASE_URL=url)
    said, _ = left.communicate()
    if left.returncode:
        counted.fault("wrong", f"something is left to migrate: {said[-300:]}")
    checks = scene.command("doctor", "--only", "append-only", "--only", "database", DATABASE_URL=url)
    said, _ = checks.communicate()
    if checks.returncode:
        counted.fault("wrong", f"after a killed migrate the doctor says {said[-300:]}")


def disk_full(scene: Scene, counted: Counted) -> None:
    scene.wait()
    with full(scene.disk):
        counted.seen["disks filled"] += 1
        Event().wait(3)


def disk_of_the_database_full(scene: Scene, counted: Counted) -> None:
    """PostgreSQL may end itself when its log finds no room; then somebody makes room and starts it again."""
    assert scene.database is not None
    scene.wait()
    with full(scene.database.disk):
        counted.seen["disks of a database filled"] += 1
        Event().wait(3)
    if scene.database.process is not None and scene.database.process.poll() is not None:
        counted.seen["databases that ended themselves"] += 1
    scene.database.start()


def database_restarted(scene: Scene, counted: Counted) -> None:
    _stopped(scene, signal.SIGINT)
    counted.seen["databases restarted"] += 1


def database_crashed(scene: Scene, counted: Counted) -> None:
    _stopped(scene, signal.SIGQUIT)
    counted.seen["databases crashed"] += 1


def _stopped(scene: Scene, by: signal.Signals) -> None:
    assert scene.database is not None
    scene.wait()
    scene.database.stop(by)
    scene.wait()
    scene.database.start()


def backend_killed(scene: Scene, counted: Counted) -> None:
    """PostgreSQL then ends all connections and recovers, by itself."""
    assert scene.database is not None
    for _ in range(2):
        scene.wait()
        backend = scene.database.a_backend()
        if backend is not None:
            os.kill(backend, signal.SIGKILL)
            counted.seen["backends killed"] += 1


EVERYWHERE: tuple[Trouble, ...] = (
    web_worker_killed,
    web_killed,
    sender_killed,
    doctor_killed,
    encryption_killed,
    disk_full,
    migrate_killed,
)
ON_POSTGRESQL: tuple[Trouble, ...] = (
    database_restarted,
    database_crashed,
    backend_killed,
    disk_of_the_database_full,
)


@contextlib.contextmanager
def people_at_work(workers: list[Worker], seconds: float) -> Iterator[None]:
    """They work through the trouble, and go on when it is over, until all is done or they give up."""
    connection.close()
    for worker in workers:
        worker.start()
    yield
    for worker in workers:
        worker.join(seconds)
        worker.over.set()
        worker.join()


def settle(scene: Scene, counted: Counted) -> None:
    """The senders end in good order; then what waits for its next try or for a lease is sent at once."""
    close_old_connections()
    for code in scene.processes.senders_stopped():
        if code == -signal.SIGTERM:
            counted.seen["senders asked to end before they had begun"] += 1
        elif code:
            counted.fault("wrong", f"a sender that was asked to end did so with {code}")
    for _ in range(10):
        now = timezone.now()
        Delivery.objects.filter(state="retry_later").update(next_try_at=now)
        Delivery.objects.filter(state="sending").update(leased_until=now - timedelta(seconds=1))
        if not Delivery.objects.filter(state__in=("queued", "retry_later", "sending")).exists():
            break
        once = scene.command("send_orders")
        said, _ = once.communicate()
        if once.returncode:
            counted.fault("wrong", f"send_orders says {said[-300:]}")
    scene.processes.senders_again()


def until_the_database_answers() -> None:
    pause = Event()
    for _ in range(600):
        with contextlib.suppress(Error):
            connection.close()
            connection.ensure_connection()
            return
        pause.wait(0.1)
    raise AssertionError("The database does not answer any more.")
