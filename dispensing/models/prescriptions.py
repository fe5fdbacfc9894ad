"""Prescriptions as written: what a prescriber ordered for each eye, when, for what use, and scans of the paper."""

import uuid

from django.db import models

from dispensing.models.choices import Eye, Use
from dispensing.models.patients import Patient
from dispensing.models.power_lines import PowerLine, power_line_constraints
from dispensing.models.staff import StaffUser
from dispensing.models.versions import Versioned


class Source(models.TextChoices):
    OWN_TEST = "own test", "Tested here"
    WRITTEN = "written", "Written prescription brought in"
    SENT = "sent by prescriber", "Sent by the prescriber"
    COPIED = "copied from spectacles", "Copied from spectacles"


class Prescription(Versioned):
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="prescriptions")
    tested_on = models.DateField("date of the test")
    expires_on = models.DateField("valid until", null=True, blank=True)
    prescriber = models.CharField(max_length=200)
    prescriber_address = models.CharField(max_length=300, blank=True)
    source = models.CharField(max_length=30, choices=Source.choices, default=Source.OWN_TEST)
    signed = models.BooleanField("original is signed", null=True, blank=True)
    use = models.CharField(max_length=20, choices=Use.choices)
    vertex_mm = models.DecimalField(
        "vertex distance of the test", max_digits=4, decimal_places=1, null=True, blank=True
    )
    notes = models.TextField(max_length=2000, blank=True)
    read_off_paper = models.JSONField(
        "figures read off its scans", null=True, blank=True, editable=False,
        help_text="By eye, what was read without doubt and nobody has settled; kept by services.papers.",
    )  # fmt: skip
    recorded_at = models.DateTimeField(auto_now_add=True)
    recorded_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-tested_on", "-pk"]
        indexes = [
            models.Index(fields=["patient", "-tested_on"], name="prescription_latest"),
            models.Index(fields=["expires_on", "id"], name="prescription_ending"),
        ]
        constraints = [
            models.CheckConstraint(condition=models.Q(use__in=Use.values), name="prescription_use_known"),
        ]

    def __str__(self) -> str:
        return f"Prescription of {self.tested_on}"

    def eye(self, eye: str) -> "PrescribedEye | None":
        """Taken from the prefetched rows, so that a list needs only one query."""
        return next((row for row in self.eyes.all() if row.eye == eye), None)

    @property
    def right(self) -> "PrescribedEye | None":
        return self.eye(Eye.RIGHT)

    @property
    def left(self) -> "PrescribedEye | None":
        return self.eye(Eye.LEFT)


class PrescribedEye(PowerLine):
    """One eye's line of a prescription. ``balance``: its lens is to match its fellow, not to be seen through; it may
    have a power all the same.
    """

    balance = models.BooleanField("balance lens", default=False)
    prescription = models.ForeignKey(Prescription, on_delete=models.CASCADE, related_name="eyes")

    class Meta:
        ordering = ["prescription", "-eye"]
        constraints = [
            models.UniqueConstraint(fields=["prescription", "eye"], name="prescribed_once_an_eye"),
            models.CheckConstraint(condition=models.Q(eye__in=Eye.values), name="prescribed_eye_known"),
            *power_line_constraints(),
        ]


class PrescriptionScan(models.Model):
    """A picture or PDF of the paper, never public; a picture is re-encoded."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    prescription = models.ForeignKey(Prescription, on_delete=models.CASCADE, related_name="scans")
    file = models.FileField(upload_to="prescriptions/")
    # SHA-256 of the content; null in rows from before it was kept.
    sha256 = models.CharField(max_length=64, null=True, editable=False)  # noqa: DJ001
    content_type = models.CharField(max_length=40)
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"Scan {self.public_id}"
