"""Scans of prescriptions on their way through the reader, and what was read off them.

A paper belongs to a patient from the start and to a prescription once somebody has confirmed what was read; its file is
kept whatever becomes of the reading.
"""

from __future__ import annotations

import uuid

from django.db import models

from dispensing.models.patients import Patient
from dispensing.models.prescriptions import PrescriptionScan
from dispensing.models.staff import StaffUser


class PaperState(models.TextChoices):
    WAITING = "waiting", "Waiting to be read"
    READING = "reading", "Being read"
    READ = "read", "Read"
    FAILED = "failed", "Could not be read"


class PaperReading(models.Model):
    """``found``: the fields as :mod:`dispensing.recognition.fields` gives them, each with its snippet. ``settled``: by
    name of a field, why what was read there does not count, who said so and when. ``scan``: once it is kept with a
    prescription; ``file`` until then. ``page`` of ``pages`` is done while it is being read.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="papers")
    scan = models.OneToOneField(
        PrescriptionScan, null=True, blank=True, on_delete=models.CASCADE, related_name="reading"
    )
    file = models.FileField(upload_to="prescriptions/", blank=True)
    # SHA-256 of the content, which goes with it to the prescription; null in rows from before it was kept.
    sha256 = models.CharField(max_length=64, null=True, editable=False)  # noqa: DJ001
    content_type = models.CharField(max_length=40)
    state = models.CharField(max_length=10, choices=PaperState.choices, default=PaperState.WAITING)
    page = models.PositiveSmallIntegerField(default=0)
    pages = models.PositiveSmallIntegerField(default=0)
    attempts = models.PositiveSmallIntegerField(default=0)
    started_at = models.DateTimeField(null=True)
    said = models.TextField(blank=True)
    found = models.JSONField(default=list, blank=True)
    settled = models.JSONField(default=dict, blank=True)
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    confirmed_at = models.DateTimeField(null=True)
    confirmed_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        verbose_name = "paper"
        ordering = ["-pk"]
        indexes = [
            models.Index(fields=["patient"], condition=models.Q(scan__isnull=True), name="paper_not_taken_in"),
        ]
        constraints = [
            models.CheckConstraint(condition=models.Q(state__in=PaperState.values), name="paper_state_known"),
        ]

    def __str__(self) -> str:
        return f"Paper {self.public_id}"

    @property
    def is_done(self) -> bool:
        return self.state in (PaperState.READ, PaperState.FAILED)
