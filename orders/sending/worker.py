"""The worker: takes what is due from the outbox, sends it, records the result; once or for as long as it runs.

It outlives a database that restarts. What was sent meanwhile is recorded as soon as the database answers again; if
that takes longer than the lease, the delivery's outcome is unknown, as after any other death of a worker.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Mapping
from datetime import timedelta

from django.db import InterfaceError, OperationalError, connection
from django.utils import timezone

from dispensing.watchman import Watchman
from orders.models import Delivery
from orders.sending import outbox
from orders.sending.channels import SENDERS, Sender, senders_at_work
from orders.sending.errors import DeliveryError, Failure
from orders.sending.heartbeat import Heartbeat
from orders.sending.wanted import require_still_wanted
from orders.services.notices import send_automatic

log = logging.getLogger("datumline.sending")

DATABASE_AWAY = (OperationalError, InterfaceError)
# Between two looks at a database that does not answer; the lease outlasts all of them together.
PAUSES = tuple(timedelta(seconds=seconds) for seconds in (0, 1, 2, 5, 10, 20, 30, 60))


class SendingInTransaction(RuntimeError):
    """A network call inside a transaction would hold up the database for as long as the mail server takes."""


def send_due(
    stopped: Callable[[], bool] = lambda: False,
    senders: Mapping[str, Sender] | None = None,
    heartbeat: Heartbeat | None = None,
) -> int:
    """Send everything due now, until ``stopped``, and first put those notices into the outbox that go by themselves.

    Returns how many were handled. ``senders``: one for each channel, in place of those that there are.
    """
    _beat(heartbeat)
    outbox.after_a_clock_set_back(timezone.now())
    outbox.expire_leases(timezone.now())
    send_automatic()
    handled = 0
    with senders_at_work() as at_work:
        while not stopped() and (delivery := outbox.claim_next(timezone.now())) is not None:
            attempt(delivery, senders or at_work)
            handled += 1
            _beat(heartbeat)
    return handled


def _beat(heartbeat: Heartbeat | None) -> None:
    if heartbeat is not None:
        heartbeat.beat(timezone.now())


def attempt(delivery: Delivery, senders: Mapping[str, Sender] = SENDERS) -> None:
    """Send one claimed delivery and record how it ended."""
    if connection.in_atomic_block:
        raise SendingInTransaction("A delivery is sent outside any transaction.")
    # As text now: when the attempt has ended, the database may be away.
    what = f"Delivery {delivery.public_id} of {delivery.document}"
    try:
        require_still_wanted(delivery)
        reply = senders[delivery.channel](delivery)
    except DeliveryError as error:
        log.warning("%s: %s", what, error.message)
        ended = _failed(delivery, error.message, error.failure, error.wait)
    except DATABASE_AWAY as error:
        # A channel reads the record before it sends and never after: nothing has left.
        log.warning("%s: the database does not answer (%s)", what, type(error).__name__)
        ended = _failed(delivery, "The database did not answer when this was to be sent.", Failure.TEMPORARY)
    except Exception as error:
        # The fault is our own: nobody knows how far it got, and retrying automatically would hide it.
        log.exception("%s broke", what)
        said = f"The sender broke down ({type(error).__name__}); see the server's log."
        ended = _failed(delivery, said, Failure.FAULT)
    else:
        log.info("%s sent", what)
        ended = _sent(delivery, reply)
    _when_the_database_answers(ended)


def _sent(delivery: Delivery, reply: str) -> Callable[[], None]:
    now = timezone.now()
    return lambda: outbox.record_sent(delivery, reply, now)


def _failed(delivery: Delivery, message: str, failure: Failure, wait: timedelta | None = None) -> Callable[[], None]:
    now = timezone.now()
    return lambda: outbox.record_failure(delivery, message, failure, now, wait)


def _when_the_database_answers(write: Callable[[], None]) -> None:
    """Write how an attempt ended; a database that restarts at this very moment must not make us forget it."""
    for pause in PAUSES:
        try:
            write()
            return
        except DATABASE_AWAY as error:
            log.warning("The database does not answer (%s); trying to record it again", type(error).__name__)
            connection.close()
            threading.Event().wait(pause.total_seconds())
    write()


def watch(stop: threading.Event, pause_s: float) -> None:
    """Keep sending what is due, and sealing what was written, until ``stop`` is set; the delivery in hand is
    finished first.
    """
    heartbeat, watchman = Heartbeat(), Watchman()
    while not stop.is_set():
        try:
            send_due(stop.is_set, heartbeat=heartbeat)
            _round(watchman)
            connection.close_if_unusable_or_obsolete()
        except DATABASE_AWAY as error:
            log.warning("The database does not answer (%s); looking again", str(error).strip() or type(error).__name__)
            connection.close()
        stop.wait(pause_s)
    heartbeat.stop()


def _round(watchman: Watchman) -> None:
    """What is done beside sending must not end it."""
    try:
        watchman.round(timezone.now())
    except DATABASE_AWAY:
        raise
    except Exception:
        log.exception("What is done beside sending broke; sending goes on")
