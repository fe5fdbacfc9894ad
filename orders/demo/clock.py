"""Puts the clock back to an earlier day while something is done, so that the demo practice has a history.

Only the demo uses this. All services take the time from ``django.utils.timezone``, so that is where the clock is
put back. Nothing outside the ``with`` block is affected.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

from django.utils import timezone


@contextmanager
def days_ago(days: float) -> Iterator[datetime]:
    """Within the block the time is exactly ``days`` days earlier than now."""
    then = datetime.now(UTC) - timedelta(days=days)
    clock = timezone.now
    timezone.now = lambda: then
    try:
        yield then
    finally:
        timezone.now = clock
