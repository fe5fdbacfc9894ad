"""The spectacles that a patient wears now: what the lensmeter reads, how old they are, and how the wearer gets on."""

import uuid

from django.core.validators import MinValueValidator
from django.db import models

from dispensing.choice_words import DESIGN_KINDS, label
from dispensing.models.choices import Eye, Use
from dispensing.models.patients import Patient
from dispensing.models.power_lines import PowerLine, power_line_constraints
from dispensing.models.staff import StaffUser
from dispensing.models.versions import Versioned


class LensKind(models.TextChoices):
    SINGLE_VISION = "single_vision", label(DESIGN_KINDS["single_vision"])
    BIFOCAL = "bifocal", label(DESIGN_KINDS["bifocal"])
    TRIFOCAL = "trifocal", label(DESIGN_KINDS["trifocal"])
    PROGRESSIVE = "progressive", label(DESIGN_KINDS["progressive"])
    OFFICE = "office", label(DESIGN_KINDS["office"])


class WornPair(Versioned):
    """One pair as read on one day. ``use``: what it is worn for, so that readers are not taken for a distance pair."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="worn_pairs")
    read_on = models.DateField("read on")
    use = models.CharField("worn for", max_length=20, choices=Use.choices)
    kind = models.CharField("lenses", max_length=20, choices=LensKind.choices, blank=True)
    age_years = models.DecimalField(
        "age", max_digits=3, decimal_places=1, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    likes = models.CharField(max_length=500, blank=True)
    dislikes = models.CharField(max_length=500, blank=True)
    tasks = models.CharField("what the new pair is for", max_length=500, blank=True)
    distances = models.CharField("working distances", max_length=200, blank=True)
    recorded_at = models.DateTimeField(auto_now_add=True)
    recorded_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        verbose_name = "pair worn now"
        ordering = ["-read_on", "-pk"]
        indexes = [models.Index(fields=["patient", "-read_on"], name="worn_pair_latest")]
        constraints = [models.CheckConstraint(condition=models.Q(use__in=Use.values), name="worn_pair_use_known")]

    def __str__(self) -> str:
        return f"Pair read on {self.read_on}"

    def eye(self, eye: str) -> "WornEye | None":
        """Taken from the prefetched rows, so that a list needs only one query."""
        return next((row for row in self.eyes.all() if row.eye == eye), None)

    @property
    def right(self) -> "WornEye | None":
        return self.eye(Eye.RIGHT)

    @property
    def left(self) -> "WornEye | None":
        return self.eye(Eye.LEFT)


class WornEye(PowerLine):
    """What the lensmeter reads of one lens, and where that lens sits. ``acuity``: with this pair on."""

    pair = models.ForeignKey(WornPair, on_delete=models.CASCADE, related_name="eyes")
    height_mm = models.DecimalField("height", max_digits=4, decimal_places=1, null=True, blank=True)
    base_curve_d = models.DecimalField("base curve (1.530)", max_digits=4, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ["pair", "-eye"]
        constraints = [
            models.UniqueConstraint(fields=["pair", "eye"], name="read_once_an_eye"),
            models.CheckConstraint(condition=models.Q(eye__in=Eye.values), name="worn_eye_known"),
            *power_line_constraints("worn_"),
        ]
