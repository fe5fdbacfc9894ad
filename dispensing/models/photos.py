"""Measuring from photos: the work in progress between taking a picture and having a fitting.

A measuring is one patient in one frame with any number of photos. The pictures are private files that may be deleted;
their marks, and the figures that came from them, stay.
"""

from __future__ import annotations

import uuid

from django.db import models

from dispensing.fitting.on_record import FOCAL_LOST, is_marked
from dispensing.models.fittings import Fitting
from dispensing.models.frames import Frame
from dispensing.models.patients import Patient
from dispensing.models.staff import StaffUser


class PhotoView(models.TextChoices):
    """The direction the picture was taken from: the two parts of ``fitting-points/1``."""

    FRONT = "front", "Front"
    SIDE = "side", "Side"


class PhotoMeasuring(models.Model):
    """``fitting`` is set once, when the figures are used; from then on nothing in the measuring changes."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="photo_measurings")
    frame = models.ForeignKey(Frame, on_delete=models.PROTECT, related_name="photo_measurings")
    near_distance_mm = models.PositiveSmallIntegerField("near working distance", default=400)
    started_at = models.DateTimeField(auto_now_add=True)
    started_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    fitting = models.ForeignKey(
        Fitting, null=True, blank=True, on_delete=models.PROTECT, related_name="photo_measurings"
    )
    finished_at = models.DateTimeField(null=True, blank=True)
    finished_by = models.ForeignKey(StaffUser, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-pk"]
        indexes = [models.Index(fields=["patient", "-id"], name="photo_measuring_latest")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(fitting__isnull=True, finished_at__isnull=True)
                | models.Q(fitting__isnull=False, finished_at__isnull=False),
                name="photo_measuring_finished_with_a_fitting",
            ),
        ]

    def __str__(self) -> str:
        return f"Photo measuring {self.public_id}"

    @property
    def finished(self) -> bool:
        return self.fitting_id is not None


class FittingPhoto(models.Model):
    """One picture with its marks: the ``front`` or ``side`` part of ``fitting-points/1`` as set by hand.

    ``version`` counts how often the marks were saved, so that if two people mark at once, the second is told. ``file``
    is empty once the picture has been deleted.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    measuring = models.ForeignKey(PhotoMeasuring, on_delete=models.CASCADE, related_name="photos")
    view = models.CharField(max_length=5, choices=PhotoView.choices)
    file = models.FileField(upload_to="fitting-photos/", blank=True)
    thumbnail = models.FileField(upload_to="fitting-photos/", blank=True)
    # SHA-256 of the picture; null in rows from before it was kept.
    sha256 = models.CharField(max_length=64, null=True, editable=False)  # noqa: DJ001
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    focal_px = models.FloatField(null=True, blank=True)
    focal_percent = models.FloatField("spread of the focal length, per cent", null=True, blank=True)
    marks = models.JSONField(default=dict, blank=True)
    version = models.PositiveIntegerField(default=0)
    marked_at = models.DateTimeField(null=True, blank=True)
    marked_by = models.ForeignKey(StaffUser, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["measuring", "view", "pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(view__in=PhotoView.values), name="fitting_photo_view_known"),
        ]

    def __str__(self) -> str:
        return f"{self.get_view_display()} photo"

    @property
    def focal_lost(self) -> str | None:
        """Why the focal length that the camera gave does not hold: ``cropped`` or ``zoomed``; None where it does."""
        lost: str | None = (self.marks.get("extra") or {}).get(FOCAL_LOST)
        return lost

    @property
    def marked(self) -> bool:
        """Whether anything has been marked on the picture; information about it (gaze, scale) is not a mark."""
        return is_marked(self.marks)
