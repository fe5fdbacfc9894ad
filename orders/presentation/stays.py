"""How long something has waited, in words, also where a clock was set back."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone


def days_between(since: datetime, now: datetime) -> int:
    """Whole days by the calendar; below 0 if the clock was set back in between."""
    return (timezone.localdate(now) - timezone.localdate(since)).days


def days_in_words(since: datetime | None, now: datetime) -> str:
    """Since when, as a list shows it."""
    if since is None:
        return "–"
    days = days_between(since, now)
    if days < 0:
        return f"noted for {timezone.localtime(since):%-d %b %Y}, which is still to come: a clock was wrong"
    return {0: "today", 1: "1 day"}.get(days, f"{days} days")
