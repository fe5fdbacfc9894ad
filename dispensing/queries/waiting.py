"""Reading who waits in the practice today."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db.models import F, QuerySet
from django.utils import timezone

from dispensing.models import Patient, Waiting

MOST_LISTED = 50


def _today() -> datetime:
    return timezone.localtime().replace(hour=0, minute=0, second=0, microsecond=0)


def _open() -> QuerySet[Waiting]:
    """Whoever was forgotten on the list last night has gone home."""
    waits = Waiting.objects.filter(ended_at=None, since__gte=_today())
    return waits.select_related("patient", "wanted", "marked_by", "taken_by")


def waiting_now() -> Sequence[Waiting]:
    """Those nobody has taken first, and of each the longest wait first."""
    return list(_open().order_by(F("taken_at").asc(nulls_first=True), "since", "pk")[:MOST_LISTED])


def wait_of(patient: Patient) -> Waiting | None:
    """The patient's wait, if they are waiting or being seen to."""
    return _open().filter(patient=patient).first()
