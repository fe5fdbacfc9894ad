"""Senders killed at random while they send, and what became of each order: a test in small, a benchmark in large.

The senders are processes of their own on the caller's database. Nobody waits out a lease here: once a sender was
killed, every lease is made to have run out, those of living senders too, which is harder than what happens in a
practice. A try that failed is due again at once.
"""

from __future__ import annotations

import contextlib
import json
import os
import random
import signal
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller
from django.db import connection
from django.utils import timezone

from orders.models import Delivery, Lab, Order, OrderDocument
from orders.sending.channels.email import message_id
from orders.sending.messages import key_of
from orders.services.lab_secrets import make_secret
from tests.orders import shop
from tests.orders.sending.receivers import receiving

ROOT = Path(__file__).resolve().parents[3]
PDF = bytes(range(256)) * 120
# How the lab's server behaves, and how often in a hundred.
SHARES = {"200": 88, "500": 4, "reset after taking": 4, "reset in the body": 4}
SECONDS_AT_MOST = 1800
ENDED = ("sent", "failed", "unknown")

PROGRAM = """
import json, sys
from django.conf import settings
import tests.settings as own
values = {name: getattr(own, name) for name in dir(own) if name.isupper()}
values["DATABASES"]["default"] = json.loads(sys.argv[1])
values.update(json.loads(sys.argv[2]), LABS_ON_THIS_MACHINE=True)
values["EMAIL_BACKEND"] = "django.core.mail.backends.smtp.EmailBackend"
values["LOGGING"] = {"version": 1}
settings.configure(**values)
import django
django.setup()
from django.core.management import call_command
call_command("send_orders", "--watch", "--pause", "0.05")
"""


@dataclass(frozen=True)
class Outcome:
    """``taken``: how often the lab acted on each order's key. ``refused``: posts of what it had already."""

    orders: int
    kills: int
    seconds: float
    states: dict[str, int]
    taken: dict[str, int]
    posts: int
    lost: int

    @property
    def twice(self) -> int:
        return sum(times > 1 for times in self.taken.values())

    @property
    def refused(self) -> int:
        return self.posts - sum(self.taken.values())

    @property
    def for_a_person(self) -> int:
        return self.states.get("unknown", 0) + self.states.get("failed", 0)

    @property
    def stuck(self) -> int:
        return self.orders - sum(self.states.get(state, 0) for state in ENDED)


def run(*, orders: int, kills: int, way: str = "https", workers: int = 2, seed: int = 4711) -> Outcome:
    """Put so many orders into the outbox, and let senders send them while they are killed and started again."""
    chance = random.Random(seed)
    with _receiver(way, chance, orders) as receiver:
        queued = _outbox(orders, way, receiver.url)
        began = time.monotonic()
        killed = _send_and_kill(workers, kills, receiver.settings, chance)
        seconds = time.monotonic() - began
    states = Counter(Delivery.objects.values_list("state", flat=True))
    taken = Counter(receiver.taken)
    lost = sum(1 for pk, key in queued.items() if not taken[key] and _state(pk) == "sent")
    return Outcome(orders, killed, seconds, dict(states), dict(taken), receiver.posts, lost)


def _state(pk: int) -> str:
    return Delivery.objects.values_list("state", flat=True).get(pk=pk)


def _outbox(orders: int, way: str, url: str) -> dict[int, str]:
    """Deliveries by primary key, each with the key under which its order can be taken."""
    first, now = shop.draft(), timezone.now()
    lab = shop.lab()
    Lab.objects.update(way=way, url=url if way == "https" else "")
    make_secret(lab=lab, actor=None)
    rows = Order.objects.bulk_create(
        Order(
            number=f"K-{number:05}",
            state="sent",
            place="sent",
            sent_at=now,
            patient=first.patient,
            lab=lab,
            sent_by=first.created_by,
        )
        for number in range(orders)
    )
    documents = OrderDocument.objects.bulk_create(
        OrderDocument(
            order=row,
            number=row.number,
            revision=1,
            text=json.dumps({"format": "lens-order/1", "number": row.number, "revision": 1}),
            report='{"verdict":"clear"}',
            pdf=PDF,
            frozen_at=now,
            frozen_by=first.created_by,
        )
        for row in rows
    )
    address = url if way == "https" else "orders@quay-street.invalid"
    queued = Delivery.objects.bulk_create(
        Delivery(document=document, channel=way, address=address, next_try_at=now) for document in documents
    )
    return {row.pk: key_of(row) if way == "https" else message_id(row) for row in queued}


def _send_and_kill(workers: int, kills: int, settings: dict[str, Any], chance: random.Random) -> int:
    """How many were killed before everything had ended one way or another."""
    senders = [_sender(settings) for _ in range(workers)]
    look, killed, deadline = threading.Event(), 0, time.monotonic() + SECONDS_AT_MOST
    try:
        while Delivery.objects.exclude(state__in=ENDED).exists():
            assert time.monotonic() < deadline, "It did not end."
            look.wait(chance.uniform(0.05, 0.4) if killed < kills else 0.1)
            if killed < kills and Delivery.objects.filter(state="sent").exists():
                which = chance.randrange(workers)
                senders[which].send_signal(signal.SIGKILL)
                senders[which].wait()
                killed += 1
                senders[which] = _sender(settings)
            _hurry(killed)
    finally:
        for sender in senders:
            sender.kill()
            sender.wait()
    return killed


def _hurry(killed: int) -> None:
    now = timezone.now()
    Delivery.objects.filter(state="retry_later").update(next_try_at=now)
    if killed:
        Delivery.objects.filter(state="sending").update(leased_until=now - timedelta(seconds=1))


def _sender(settings: dict[str, Any]) -> subprocess.Popen[bytes]:
    wanted = ("ENGINE", "NAME", "USER", "PASSWORD", "HOST", "PORT", "OPTIONS")
    database = json.dumps({name: connection.settings_dict[name] for name in wanted}, default=str)
    return subprocess.Popen(
        [sys.executable, "-c", PROGRAM, database, json.dumps(settings)],
        cwd=ROOT,
        env=os.environ,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


class Taken:
    """What a lab acted on, by key; ``url`` and ``settings``: how a sender reaches it."""

    def __init__(self) -> None:
        self.url, self.settings, self.taken, self.posts = "", dict[str, Any](), list[str](), 0


@contextlib.contextmanager
def _receiver(way: str, chance: random.Random, orders: int) -> Iterator[Taken]:
    found = Taken()
    if way == "https":
        met = chance.choices(list(SHARES), weights=list(SHARES.values()), k=orders * 2)
        with receiving("", *met, "200") as receiver:
            found.url = receiver.url
            yield found
        found.taken, found.posts = receiver.taken, len(receiver.posts)
        return
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    mails = Mails()
    controller = Controller(mails, hostname="127.0.0.1", port=port)
    controller.start()
    found.settings = {"EMAIL_HOST": "127.0.0.1", "EMAIL_PORT": port, "EMAIL_TIMEOUT": 20}
    yield found
    controller.stop()
    found.taken, found.posts = mails.taken, len(mails.taken)


class Mails:
    def __init__(self) -> None:
        self.taken: list[str] = []

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        head = bytes(envelope.original_content or b"").split(b"\r\n\r\n")[0].decode()
        self.taken.append(next(line[12:] for line in head.split("\r\n") if line.lower().startswith("message-id: ")))
        return "250 taken"
