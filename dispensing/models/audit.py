"""The audit trail: who did what to which record, and when. Rows are added and never changed."""

from django.db import models

from dispensing.models.staff import StaffUser


class AuditEvent(models.Model):
    """``verb`` is a dotted name (``patient.register``); ``changes`` maps a field to its old and new value.

    A database trigger refuses updates and deletes (:mod:`dispensing.append_only`).
    """

    at = models.DateTimeField(auto_now_add=True, db_index=True)
    actor = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    verb = models.CharField(max_length=60)
    record = models.CharField(max_length=40)
    record_id = models.UUIDField(null=True)
    patient = models.ForeignKey("dispensing.Patient", null=True, on_delete=models.PROTECT, related_name="+")
    changes = models.JSONField(default=dict)
    # The version of the record that this change made; null if the record has no version count.
    version = models.PositiveIntegerField(null=True)
    # Where it was done from and by which API token; null outside a request, and in events older than these columns.
    address = models.CharField(max_length=45, null=True)  # noqa: DJ001 (a null column is added without a copy)
    token = models.CharField(max_length=60, null=True)  # noqa: DJ001

    class Meta:
        ordering = ["-pk"]
        indexes = [
            models.Index(fields=["patient", "-id"], name="audit_of_patient"),
            models.Index(fields=["record_id", "-id"], name="audit_of_record"),
            models.Index(fields=["actor", "-id"], name="audit_of_actor"),
            models.Index(fields=["verb", "-id"], name="audit_of_verb"),
        ]

    def __str__(self) -> str:
        return f"{self.verb} {self.record_id}"
