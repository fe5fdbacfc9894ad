"""Noticing that a colleague changed a record while somebody had it open: the second of two savers is told.

What a page was opened on is the number of the record's last entry in the audit trail. Call :func:`require_seen` with
the changes that are about to be made, inside the transaction that holds the row; raising undoes what was written.
"""

from __future__ import annotations

from django.db.models import QuerySet

from dispensing.models import AuditEvent, Fitting, Patient, Prescription, StaffUser

Changes = dict[str, list[str | None]]


class ChangedMeanwhile(Exception):
    """Nothing was saved. ``by``: who changed it; ``fields``: what stands there now and what was wanted, by field."""

    def __init__(self, by: StaffUser | None, fields: Changes):
        self.by, self.fields = by, fields
        super().__init__(f"Changed meanwhile: {', '.join(fields)}.")


def last_change(record: Fitting | Patient | Prescription) -> int:
    """The number of the last entry about the record; 0 where there is none."""
    return _entries(record).values_list("pk", flat=True).first() or 0


def require_seen(record: Fitting | Patient | Prescription, seen: int | None, changes: Changes) -> None:
    """Raises ChangedMeanwhile when, after entry ``seen``, a field was changed that ``changes`` would change as well.

    ``seen`` None: nobody looked at the record before, as over the API, and nothing is compared.
    """
    if seen is None:
        return
    since = list(_entries(record).filter(pk__gt=seen).select_related("actor"))
    theirs = {name for event in since for name in event.changes}
    both = {name: pair for name, pair in changes.items() if name in theirs}
    if both:
        raise ChangedMeanwhile(since[0].actor, both)


def _entries(record: Fitting | Patient | Prescription) -> QuerySet[AuditEvent]:
    patient = record.pk if isinstance(record, Patient) else record.patient_id
    return AuditEvent.objects.filter(patient=patient, record_id=record.public_id)
