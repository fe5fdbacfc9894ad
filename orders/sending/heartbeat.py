"""Says that a sender is running: each writes the time beside its name, and nobody has to look at the server.

A sender that is stopped takes its name away. One that was killed falls silent, which is noticed after a lease: no
attempt takes longer, so one that is busy is never taken for dead.
"""

from __future__ import annotations

import os
import socket
import uuid
from datetime import datetime, timedelta

from orders.models import Sender
from orders.sending.outbox import LEASE

SILENT_AFTER = LEASE
FORGOTTEN_AFTER = timedelta(days=30)
BETWEEN_BEATS = timedelta(seconds=15)


class Heartbeat:
    """One sender's. Not shared between processes."""

    def __init__(self) -> None:
        self.name = f"{socket.gethostname()[:60]}, process {os.getpid()}, {uuid.uuid4().hex[:8]}"
        self._last: datetime | None = None

    def beat(self, now: datetime) -> None:
        """Write the time, unless that was done a moment ago."""
        if self._last is not None and timedelta(0) <= now - self._last < BETWEEN_BEATS:
            return  # and after a clock that was set back, it is written at once
        if self._last is None:
            Sender.objects.filter(seen_at__lt=now - FORGOTTEN_AFTER).delete()
        Sender.objects.update_or_create(
            name=self.name, defaults={"seen_at": now}, create_defaults={"seen_at": now, "started_at": now}
        )
        self._last = now

    def stop(self) -> None:
        Sender.objects.filter(name=self.name).delete()


def last_seen() -> datetime | None:
    """When any sender was last known to run; None if none ever was, or if all were stopped in order."""
    newest = Sender.objects.order_by("-seen_at").first()
    return newest.seen_at if newest else None


def is_alive(seen: datetime | None, now: datetime) -> bool:
    """Whether a sender last seen then is taken to run. One seen in the future is believed no longer than one in the
    past: the clock was set back, and a living sender has said so since.
    """
    return seen is not None and abs(now - seen) <= SILENT_AFTER
