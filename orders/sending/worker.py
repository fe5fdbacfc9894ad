"""The worker: takes what is due from the outbox, sends it, records the result; once or for as long as it runs."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Mapping

from django.db import connection
from django.utils import timezone

from orders.models import Delivery
from orders.sending import outbox
from orders.sending.channels import SENDERS, Sender
from orders.sending.errors import DeliveryError, Failure

log = logging.getLogger("datumline.sending")


class SendingInTransaction(RuntimeError):
    """A network call inside a transaction would hold up the database for as long as the mail server takes."""


def send_due(stopped: Callable[[], bool] = lambda: False, senders: Mapping[str, Sender] = SENDERS) -> int:
    """Send everything due now, until ``stopped``; returns how many were handled. ``senders``: one for each channel."""
    outbox.expire_leases(timezone.now())
    handled = 0
    while not stopped() and (delivery := outbox.claim_next(timezone.now())) is not None:
        attempt(delivery, senders)
        handled += 1
    return handled


def attempt(delivery: Delivery, senders: Mapping[str, Sender] = SENDERS) -> None:
    """Send one claimed delivery and record how it ended."""
    if connection.in_atomic_block:
        raise SendingInTransaction("A delivery is sent outside any transaction.")
    try:
        reply = senders[delivery.channel](delivery)
    except DeliveryError as error:
        log.warning("Delivery %s of %s: %s", delivery.public_id, delivery.document, error.message)
        outbox.record_failure(delivery, error.message, error.failure, timezone.now())
    except Exception as error:
        # The fault is our own: nobody knows how far it got, and retrying automatically would hide it.
        log.exception("Delivery %s of %s broke", delivery.public_id, delivery.document)
        said = f"The sender broke down ({type(error).__name__}); see the server's log."
        outbox.record_failure(delivery, said, Failure.UNKNOWN, timezone.now())
    else:
        log.info("Delivery %s of %s sent", delivery.public_id, delivery.document)
        outbox.record_sent(delivery, reply, timezone.now())


def watch(stop: threading.Event, pause_s: float) -> None:
    """Keep sending what is due until ``stop`` is set; the delivery in hand is finished first."""
    while not stop.is_set():
        send_due(stop.is_set)
        connection.close_if_unusable_or_obsolete()
        stop.wait(pause_s)
