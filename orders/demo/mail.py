"""Sends the demo's orders through the real outbox and worker, each on its day; one while no mail server answers."""

from __future__ import annotations

import logging
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

from django.core.mail import get_connection
from django.utils import timezone

from orders.delivery_states import OPEN
from orders.demo.clock import days_ago
from orders.models import Delivery, Order
from orders.models.deliveries import Channel
from orders.sending.channels import Sender, email
from orders.sending.worker import send_due

A_MOMENT = timedelta(seconds=1)


def deliver() -> None:
    """Send what is due by this installation's mail settings, outside any transaction."""
    with _without_log():
        send_due()


def try_in_vain(order: Order) -> None:
    """Make every attempt the outbox makes for this order, each when due, until it gives up two days later."""
    waiting = Delivery.objects.filter(document__order=order, state__in=OPEN)
    with _mail_server_away() as send, _without_log():
        while (delivery := waiting.first()) is not None:
            since = timezone.now() - delivery.next_try_at - A_MOMENT
            with days_ago(since / timedelta(days=1)):
                send_due(senders={Channel.EMAIL: send})


@contextmanager
def _mail_server_away() -> Iterator[Sender]:
    """Send to a local port on which nothing listens, so that every attempt within the block is refused."""
    with socket.socket() as nobody:
        nobody.bind(("127.0.0.1", 0))
        smtp, port = "django.core.mail.backends.smtp.EmailBackend", nobody.getsockname()[1]
        yield lambda delivery: email.send(delivery, get_connection(smtp, host="127.0.0.1", port=port))


@contextmanager
def _without_log() -> Iterator[None]:
    """Log nothing: events dated weeks ago are of no interest to someone watching the demo load."""
    log = logging.getLogger("datumline.sending")
    before, log.disabled = log.disabled, True
    try:
        yield
    finally:
        log.disabled = before
