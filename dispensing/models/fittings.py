"""Fittings: how one frame sits in front of one patient's eyes, figure by figure, each with its ± and who took it."""

import uuid

from django.db import models

from dispensing.models.frames import Frame
from dispensing.models.patients import Patient
from dispensing.models.staff import StaffUser
from dispensing.models.versions import Versioned


class Quantity(models.TextChoices):
    PD = "pd_mm", "Monocular PD"
    NEAR_PD = "near_pd_mm", "Near PD"
    HEIGHT = "height_mm", "Fitting height"
    VERTEX = "vertex_mm", "Vertex distance"
    BINOCULAR_PD = "binocular_pd_mm", "Binocular PD"
    PANTOSCOPIC = "pantoscopic_deg", "Pantoscopic tilt"
    FACE_FORM = "face_form_deg", "Face-form angle"


PER_EYE = (Quantity.PD, Quantity.NEAR_PD, Quantity.HEIGHT, Quantity.VERTEX)
FOR_THE_PAIR = (Quantity.BINOCULAR_PD, Quantity.PANTOSCOPIC, Quantity.FACE_FORM)


class MeasuredEye(models.TextChoices):
    RIGHT = "right", "Right"
    LEFT = "left", "Left"
    BOTH = "both", "Pair"


class Method(models.TextChoices):
    RULE = "rule", "Rule"
    PUPILLOMETER = "pupillometer", "Pupillometer"
    PHOTO = "photo", "Photo"
    GAUGE = "gauge", "Protractor or gauge"
    COPIED = "copied", "Copied from an earlier record"
    CALCULATED = "calculated", "Calculated"


BY_HAND = (Method.RULE, Method.PUPILLOMETER, Method.GAUGE)


class Fitting(Versioned):
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="fittings")
    frame = models.ForeignKey(Frame, on_delete=models.PROTECT, related_name="fittings")
    pre_adjusted = models.BooleanField("frame adjusted on the face before measuring", default=False)
    near_distance_mm = models.PositiveSmallIntegerField("near working distance", null=True, blank=True)
    frame_sizes = models.JSONField(default=dict, editable=False)
    notes = models.TextField(max_length=2000, blank=True)
    measured_on = models.DateField()
    recorded_at = models.DateTimeField(auto_now_add=True)
    recorded_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-measured_on", "-pk"]
        indexes = [models.Index(fields=["patient", "-measured_on"], name="fitting_latest")]

    def __str__(self) -> str:
        return f"Fitting of {self.measured_on}"

    def figure(self, quantity: str, eye: str = MeasuredEye.BOTH) -> "Measurement | None":
        """Taken from the prefetched rows, so that a page needs only one query."""
        return next((row for row in self.measurements.all() if (row.quantity, row.eye) == (quantity, eye)), None)

    @property
    def measured_in_this_frame(self) -> bool:
        """False if the frame's boxed sizes have changed since the fitting was taken."""
        return bool(self.frame_sizes == self.frame.boxed_sizes)


class Measurement(models.Model):
    """One figure: its value, its ± (95 %), and how, how often and by whom it was taken."""

    fitting = models.ForeignKey(Fitting, on_delete=models.CASCADE, related_name="measurements")
    eye = models.CharField(max_length=5, choices=MeasuredEye.choices)
    quantity = models.CharField(max_length=20, choices=Quantity.choices)
    value = models.DecimalField(max_digits=6, decimal_places=2)
    plus_minus = models.DecimalField("±", max_digits=5, decimal_places=2, null=True, blank=True)
    method = models.CharField(max_length=15, choices=Method.choices, default=Method.RULE)
    readings = models.JSONField(default=list, blank=True, help_text="The single readings, when several were taken.")
    taken_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["fitting", "quantity", "eye"]
        constraints = [
            models.UniqueConstraint(fields=["fitting", "eye", "quantity"], name="one_figure_each"),
            models.CheckConstraint(
                condition=models.Q(eye__in=["right", "left"], quantity__in=[str(q) for q in PER_EYE])
                | models.Q(eye="both", quantity__in=[str(q) for q in FOR_THE_PAIR]),
                name="figure_belongs_to_eye_or_pair",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_quantity_display()} {self.get_eye_display().lower()} {self.value}"

    @property
    def reading_count(self) -> int:
        return max(1, len(self.readings))
