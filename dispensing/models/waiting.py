"""Who waits in the practice, for whom and for what: marked at the desk, taken by whoever sees to them."""

import uuid

from django.db import models

from dispensing.models.patients import Patient
from dispensing.models.staff import StaffUser


class Purpose(models.TextChoices):
    CHOOSE = "choose", "To choose spectacles"
    MEASURE = "measure", "To be measured"
    COLLECT = "collect", "To collect a pair"
    ADJUST = "adjust", "An adjustment or a repair"
    COMPLAINT = "complaint", "Something is wrong with a pair"
    OTHER = "other", "Something else"


class Waiting(models.Model):
    """One wait. ``wanted``: whom the patient waits for, null for anyone. It ends when ``ended_at`` is set."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="waits")
    wanted = models.ForeignKey(StaffUser, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    purpose = models.CharField("for what", max_length=12, choices=Purpose.choices)
    note = models.CharField(max_length=200, blank=True)
    since = models.DateTimeField()
    marked_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    taken_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        verbose_name = "wait"
        ordering = ["since", "pk"]
        indexes = [models.Index(fields=["since"], condition=models.Q(ended_at=None), name="waiting_now")]
        constraints = [
            models.UniqueConstraint(fields=["patient"], condition=models.Q(ended_at=None), name="waits_once_at_a_time"),
            models.CheckConstraint(condition=models.Q(purpose__in=Purpose.values), name="waits_for_something_known"),
        ]

    def __str__(self) -> str:
        return f"{self.patient.reference} since {self.since:%H:%M}"
