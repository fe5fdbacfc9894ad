"""What goes with some of the events of an order: decisions on a finished pair, its hand-over, and what came after.

Each row belongs to one event, and like events, rows are only ever added.
"""

from __future__ import annotations

from django.db import models

from dispensing.models import StaffUser
from orders.causes import CAUSE_CHOICES, WHOSE_CHOICES
from orders.models.events import OrderEvent


class Decision(models.Model):
    """A pair that is not as it should be: why, whose it was, and for a concession who allows it."""

    event = models.OneToOneField(OrderEvent, on_delete=models.PROTECT, related_name="decision")
    cause = models.CharField(max_length=20, choices=CAUSE_CHOICES)
    whose = models.CharField(max_length=12, choices=WHOSE_CHOICES)
    reason = models.CharField(max_length=500)
    allowed_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    patient_told = models.BooleanField(default=False)

    def __str__(self) -> str:
        return f"{self.event}: {self.cause}"


class Collector(models.TextChoices):
    PATIENT = "patient", "The patient"
    GUARDIAN = "guardian", "Parent or guardian"
    OTHER = "other", "Somebody sent by the patient"


class Fit(models.TextChoices):
    GOOD = "good", "Sits well as it came"
    ADJUSTED = "adjusted", "Adjusted until it sat well"
    LATER = "later", "Not finished: comes back for it"


class PatientsCopy(models.TextChoices):
    PRINTED = "printed", "Printed and given"
    POSTED = "posted", "Printed, to be posted"
    DECLINED = "declined", "Offered and declined"


class HandOver(models.Model):
    """How a pair was given to its wearer: to whom, how it sat and what was seen with it, what was said and given."""

    event = models.OneToOneField(OrderEvent, on_delete=models.PROTECT, related_name="hand_over")
    given_to = models.CharField(max_length=10, choices=Collector.choices)
    collector_name = models.CharField(max_length=200, blank=True)
    fit = models.CharField(max_length=10, choices=Fit.choices)
    acuity = models.CharField(max_length=200, blank=True)
    # The cautions as they were said that day, one a line: what the trade says of such a lens may change.
    cautions = models.TextField(blank=True)
    care_given = models.BooleanField(default=False)
    patients_copy = models.CharField(max_length=10, choices=PatientsCopy.choices)
    next_test_on = models.DateField(null=True, blank=True)
    follow_up_on = models.DateField(null=True, blank=True, db_index=True)

    def __str__(self) -> str:
        return str(self.event)


class Part(models.TextChoices):
    FRONT = "front", "Front"
    BRIDGE = "bridge", "Bridge"
    PADS = "pads", "Pads or pad arms"
    HINGE = "hinge", "Hinge or screw"
    SIDE = "side", "Side or its tip"
    RIM = "rim", "Rim, cord or drill mount"
    RIGHT_LENS = "right lens", "Right lens"
    LEFT_LENS = "left lens", "Left lens"


class AftercareNote(models.Model):
    """An adjustment, a repair (which part, and how), or a complaint with what was found and why."""

    event = models.OneToOneField(OrderEvent, on_delete=models.PROTECT, related_name="aftercare")
    part = models.CharField(max_length=12, choices=Part.choices, blank=True)
    done = models.CharField(max_length=500, blank=True)
    # As the wearer said it, not as we understood it.
    words = models.TextField(max_length=1000, blank=True)
    findings = models.TextField(max_length=1000, blank=True)
    cause = models.CharField(max_length=20, choices=CAUSE_CHOICES, blank=True)
    whose = models.CharField(max_length=12, choices=WHOSE_CHOICES, blank=True)

    def __str__(self) -> str:
        return str(self.event)
