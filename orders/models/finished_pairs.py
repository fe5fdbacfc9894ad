"""The finished pair as it was read on receipt: readings, verdict, what was looked at, and photos of defects.

Rows are only ever added: another reading, a second reader's too, is another row, and the newest says how the pair
stands. A trigger refuses any change.
"""

from __future__ import annotations

import uuid

from django.db import models

from dispensing.models import StaffUser
from dispensing.models.practice import ToleranceStandard
from orders.models.documents import OrderDocument
from orders.models.orders import Order


class Result(models.TextChoices):
    """The verdict of ``finished-verdict/1``."""

    ACCEPT = "accept", "As ordered"
    MEASURE_AGAIN = "measure_again", "Measure again"
    RETURN = "return", "Not as ordered"


class FinishedReading(models.Model):
    """One reading of a pair. readings, verdict: as ``finished-readings/1`` and ``finished-verdict/1``, by the standard
    and the practice's own limits of that day; document: the revision that the pair is held against.

    inspection: what was looked at, by point (``orders.verification.inspection``): ``{"scratches": {"found": "fine" or
    "defect", "words": "…"}}``. second_of: the reading that this one, by another reader, checks.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="finished_readings")
    document = models.ForeignKey(OrderDocument, on_delete=models.PROTECT, related_name="finished_readings")
    readings = models.JSONField()
    standard = models.CharField(max_length=20, choices=ToleranceStandard.choices)
    verdict = models.JSONField()
    result = models.CharField(max_length=13, choices=Result.choices)
    inspection = models.JSONField(default=dict, blank=True)
    has_defects = models.BooleanField(default=False)
    instrument = models.CharField(max_length=80, blank=True)
    note = models.CharField(max_length=500, blank=True)
    second_of = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="second_readings"
    )
    read_at = models.DateTimeField()
    read_by = models.ForeignKey(StaffUser, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["order", "-pk"]
        indexes = [models.Index(fields=["order", "-id"], name="finished_reading_latest")]
        constraints = [
            models.CheckConstraint(condition=models.Q(result__in=Result.values), name="finished_result_known"),
        ]

    def __str__(self) -> str:
        return f"{self.order} read: {self.result}"


class InspectionPhoto(models.Model):
    """A photo of a defect. point: what it shows, by the key of the inspection list."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    reading = models.ForeignKey(FinishedReading, on_delete=models.PROTECT, related_name="photos")
    point = models.CharField(max_length=30)
    file = models.FileField(upload_to="inspection-photos/")
    # SHA-256 of the content; null in rows from before it was kept.
    sha256 = models.CharField(max_length=64, null=True, editable=False)  # noqa: DJ001
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(StaffUser, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["reading", "pk"]

    def __str__(self) -> str:
        return f"Photo of {self.point}"
