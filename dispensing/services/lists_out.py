"""Notes on the audit trail that somebody took a list out of the record, and what it was narrowed to."""

from __future__ import annotations

from collections.abc import Mapping

from dispensing.models import AuditEvent, Patient, StaffUser
from dispensing.services.audit import record


def note_list_out(
    *, actor: StaffUser, name: str, asked: Mapping[str, str] | None = None, patient: Patient | None = None
) -> AuditEvent:
    """``asked``: what the list was narrowed by, in words; a search for a person is not among it, only that there was
    one. ``patient``: whose list it is, if it is one person's.
    """
    changes = {"list": name} | {key: value for key, value in (asked or {}).items() if value}
    return record(actor=actor, verb="list.take-out", patient=patient, changes=changes)
