"""``manage.py demo_lab``: a sample lab beside the demo, so that the whole dialogue is seen on one machine."""

from __future__ import annotations

import signal
import threading
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse

from orders.demo.lab.sample_lab import SampleLab
from orders.demo.lab.server import LabServer
from orders.models import Lab
from orders.services.lab_secrets import make_secret, secrets_of
from orders.services.labs import change_lab


class Command(BaseCommand):
    help = "Run a sample lab on this machine: it takes the demo's orders, asks now and then, and reports back."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8100, help="where the lab listens; default 8100")
        parser.add_argument("--practice", default="http://127.0.0.1:8000", help="where the demo runs, as it printed it")
        parser.add_argument("--lab", default="", help="which lab to be; default the first")
        parser.add_argument("--ask-every", type=int, default=3, help="ask about one order in so many; default 3")
        parser.add_argument("--pause", type=float, default=5.0, metavar="SECONDS", help="between two steps; default 5")

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.PRODUCTION:
            raise CommandError("DATABASE_URL is set, so this is a real installation. The sample lab is for the demo.")
        lab = self._lab(options["lab"])
        secret = next(iter(secrets_of(lab)), "") or make_secret(lab=lab, actor=None)
        sample = SampleLab(secret, ask_every=options["ask_every"], pause=timedelta(seconds=options["pause"]))
        callback = options["practice"].rstrip("/") + reverse("api-lab-callback", args=[lab.public_id])
        try:
            server = LabServer(options["port"], sample, callback, self._say)
        except OSError as error:
            raise CommandError(f"Port {options['port']} is taken. Name another with --port.") from error
        stop = _signal_to_stop()  # Before anything is changed, so that whatever ends it also puts the lab back.
        with server.running(), _sent_to(lab, server.url):
            self._say(f"{lab} takes orders at {server.url} and reports to {callback}\nStop with Ctrl-C.")
            stop.wait()
        self._say("Stopped; orders go to the lab as before.")

    def _lab(self, name: str) -> Lab:
        labs = Lab.objects.filter(active=True)
        lab = labs.filter(name=name).first() if name else labs.order_by("pk").first()
        if lab is None:
            raise CommandError("There is no such lab. Start the demo first: python3 manage.py demo")
        return lab

    def _say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()


def _signal_to_stop() -> threading.Event:
    """Set once somebody ends the program."""
    stop = threading.Event()
    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, lambda *_: stop.set())
    return stop


@contextmanager
def _sent_to(lab: Lab, url: str) -> Iterator[None]:
    """Orders for the lab are posted there while the block runs, and go as before afterwards."""
    before: dict[str, Any] = {"way": lab.way, "url": lab.url}
    change_lab(lab=lab, actor=None, way="https", url=url)
    try:
        yield
    finally:
        change_lab(lab=lab, actor=None, **before)
