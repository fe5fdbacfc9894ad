"""When to retry a delivery that failed for a temporary reason. After the last delay it has failed for good.

Retries are close together at first, for a mail server that is being restarted, then spread over two days, for a lab
whose server is down on a weekend night. A person can retry at any time.
"""

from __future__ import annotations

from datetime import timedelta

DELAYS: tuple[timedelta, ...] = (
    timedelta(minutes=1),
    timedelta(minutes=5),
    timedelta(minutes=15),
    timedelta(hours=1),
    timedelta(hours=3),
    timedelta(hours=8),
    timedelta(hours=12),
    timedelta(hours=24),
)


def delay_after(attempts_made: int, asked: timedelta | None = None) -> timedelta | None:
    """How long to wait after this many attempts; None if there have been enough.

    ``asked``: how long the other side asks for, which counts if it is longer, up to the longest delay there is.
    """
    if not 1 <= attempts_made <= len(DELAYS):
        return None
    return max(DELAYS[attempts_made - 1], min(asked or timedelta(0), DELAYS[-1]))
