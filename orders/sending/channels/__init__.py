"""The ways an order leaves the practice, one module for each channel. ``SENDERS`` lists those the worker can use."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator

from orders.models import Delivery
from orders.models.deliveries import Channel
from orders.sending.channels import email, folder, https, sms

Sender = Callable[[Delivery], str]
"""Sends the stored bytes of the delivery's document; returns an excerpt of the answer or raises `DeliveryError`."""

SENDERS: dict[str, Sender] = {
    Channel.EMAIL: email.send,
    Channel.HTTPS: https.send,
    Channel.FOLDER: folder.send,
    Channel.SMS: sms.send,
}


@contextlib.contextmanager
def senders_at_work() -> Iterator[dict[str, Sender]]:
    """The senders of a worker that has several to send: mails go through one connection after another."""
    with contextlib.closing(email.Mailer()) as mailer:
        yield {**SENDERS, Channel.EMAIL: mailer.send}


# Ways by which a lab refuses what it has already, so that an attempt that may have arrived can be repeated.
REPEATS_SAFELY = frozenset({Channel.HTTPS})

__all__ = ["REPEATS_SAFELY", "SENDERS", "Sender", "senders_at_work"]
