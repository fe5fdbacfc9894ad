"""Saving the marks of a photo as they are made, so that if two people mark at once, the second is told.

Marks are checked as ``fitting-points/1`` before they are stored; measuring judges their positions, not this module.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from dispensing.fitting.on_record import kept_marks, points_of
from dispensing.models import FittingPhoto, StaffUser
from dispensing.queries.photo_fittings import frame_facts, photo_facts
from dispensing.services.audit import record
from dispensing.services.fittings import FittingRefused
from dispensing.services.photo_fittings import open_and_locked

ONE_SITTING = timedelta(minutes=15)
"""Marks are saved every few seconds, but the audit trail gets one entry per person per sitting."""


class MarkedByAnother(Exception):
    """The marks have been changed since they were read. ``photo`` holds them as they are now."""

    def __init__(self, photo: FittingPhoto):
        self.photo = photo
        super().__init__(f"{photo.marked_by or 'Someone'} has changed the marks of this photo since you opened it.")


def save_marks(*, actor: StaffUser, photo: FittingPhoto, marks: Any, version: int) -> FittingPhoto:
    """The photo with its new marks and version.

    Raises InvalidDocument for bad marks, MarkedByAnother when ``version`` is not the stored one, FittingRefused once
    the figures are used.
    """
    measuring = photo.measuring
    facts = photo_facts(photo, marks=marks)
    kept = kept_marks(points_of(facts, frame_facts(measuring.frame), measuring.near_distance_mm))
    now = timezone.now()
    with transaction.atomic():
        # Locked, so that nobody uses figures from marks that are just being changed.
        open_and_locked(measuring)
        saved = FittingPhoto.objects.filter(pk=photo.pk, version=version).update(
            marks=kept, version=version + 1, marked_at=now, marked_by=actor
        )
        if not saved:
            now_there = FittingPhoto.objects.select_related("marked_by").filter(pk=photo.pk).first()
            raise MarkedByAnother(now_there) if now_there else FittingRefused("This photo was deleted in the meantime.")
        # ``photo`` still holds who marked before, and when.
        before = photo.marked_at if photo.marked_by_id == actor.pk else None
        if before is None or now - before > ONE_SITTING:
            record(actor=actor, verb="photo.mark", target=photo, patient=measuring.patient)
    photo.marks, photo.version, photo.marked_at, photo.marked_by = kept, version + 1, now, actor
    return photo
