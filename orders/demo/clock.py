"""Doing something as if it were an earlier day, so that the demo practice has a past.

Only the demo uses it. All services take the time from ``django.utils.timezone``, so that is where the clock is
put back; nothing outside the ``with`` block is touched.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

from django.utils import timezone


@contextmanager
def days_ago(days: float) -> Iterator[datetime]:
    """Within the block it is ``days`` earlier than now, to the second."""
    then = datetime.now(UTC) - timedelta(days=days)
    clock = timezone.now
    timezone.now = lambda: then
    try:
        yield then
    finally:
        timezone.now = clock
