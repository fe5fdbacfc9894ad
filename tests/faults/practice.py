"""The practice in which it happens: its labs by three ways, receivers that take what is sent, and people signed in."""

from __future__ import annotations

import contextlib
import os
import random
import socket
from collections.abc import Iterator
from pathlib import Path

from aiosmtpd.controller import Controller
from django.conf import settings
from django.core.management import call_command
from django.test import override_settings

from orders.models import Lab
from orders.services.lab_secrets import make_secret
from tests.faults.counting import Taken
from tests.faults.jobs import Job, Worker, keeping_a_scan, registering, sending
from tests.faults.machine import Database, Processes
from tests.faults.rounds import Scene
from tests.orders import shop
from tests.orders.sending.killing import Mails
from tests.orders.sending.receivers import receiving
from tests.people import signed_in

FOLDER = "harbour"


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextlib.contextmanager
def open_practice(
    folder: Path, disk: Path, database: Database | None, chance: random.Random, keys: tuple[str, str]
) -> Iterator[tuple[Scene, Taken]]:
    call_command("migrate", verbosity=0)
    _collect_static_files(disk)
    mails = Mails()
    controller = Controller(mails, hostname="127.0.0.1", port=_free_port())
    controller.start()
    os.environ.update(EMAIL_HOST="127.0.0.1", EMAIL_PORT=str(controller.port))
    try:
        with receiving("", "200") as receiver:
            _labs(receiver.url, disk)
            environ = dict(os.environ)
            processes = Processes(environ, folder / "log", _free_port())
            try:
                yield (
                    Scene(folder, disk, environ, processes, database, chance, keys),
                    Taken(receiver.taken, mails.taken),
                )
            finally:
                processes.end()
    finally:
        controller.stop()


def _collect_static_files(disk: Path) -> None:
    """Under the names that an installation gives them, but not compressed, which takes most of the time."""
    hashed = {"BACKEND": "django.contrib.staticfiles.storage.ManifestStaticFilesStorage"}
    with override_settings(STATIC_ROOT=disk / "static", STORAGES={**settings.STORAGES, "staticfiles": hashed}):
        call_command("collectstatic", interactive=False, verbosity=0)


def _labs(url: str, disk: Path) -> None:
    shop.lab(way="email")
    posted = shop.lab("Signed Post Lab", way="https", url=url)
    make_secret(lab=posted, actor=None)
    (disk / "lab-folders" / FOLDER).mkdir(parents=True)
    shop.lab("Folder Lab", way="folder", folder=FOLDER)


def workers(scene: Scene, count: int) -> list[Worker]:
    """People with a few jobs each, in an order of their own, so that every round has all of them at once."""
    labs = list(Lab.objects.order_by("pk"))
    made = []
    for number in range(count):
        jobs: list[Job] = [registering(), registering(), keeping_a_scan(), sending(labs[number % len(labs)])]
        scene.chance.shuffle(jobs)
        session = signed_in("ravi").cookies["sessionid"].value
        made.append(Worker(scene.processes.port, session, jobs, scene.chance.randrange(10**9)))
    return made
