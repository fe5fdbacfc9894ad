"""Reading leaves a trace: one visit of one person to one patient's records, however many pages it took."""

from django.db import models

from dispensing.models.audit import AuditEvent
from dispensing.models.staff import StaffUser


class Look(models.Model):
    """A visit. That it began stands on the audit trail, where nothing changes; here is how long it went on.

    ``patient`` is null for lists, which show many patients and little of each. ``count``: answers that showed one.
    """

    event = models.OneToOneField(AuditEvent, primary_key=True, on_delete=models.PROTECT, related_name="look")
    person = models.ForeignKey(StaffUser, on_delete=models.PROTECT, related_name="+")
    patient = models.ForeignKey("dispensing.Patient", null=True, on_delete=models.PROTECT, related_name="+")
    address = models.CharField(max_length=45)
    token = models.CharField(max_length=60, blank=True)
    last_at = models.DateTimeField()
    count = models.PositiveIntegerField(default=1)

    class Meta:
        indexes = [models.Index(fields=["person", "patient", "-last_at"], name="look_of_person")]

    def __str__(self) -> str:
        return f"{self.person} {self.last_at}"
