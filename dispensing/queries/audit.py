"""Reading the audit trail, newest first, whole or for one patient."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dispensing.models import AuditEvent, Patient, StaffUser
from dispensing.queries.paging import ROWS_A_PAGE, Page, page_of


@dataclass(frozen=True)
class AuditSearch:
    """What to look for; if nothing is given, everything is found."""

    patient: Patient | None = None
    person: StaffUser | None = None
    verb: str = ""


def audit_page(search: AuditSearch, *, after: str = "", size: int = ROWS_A_PAGE) -> Page[AuditEvent]:
    """One page of events with their people, in one query."""
    events = AuditEvent.objects.select_related("actor", "patient")
    if search.patient is not None:
        events = events.filter(patient=search.patient)
    if search.person is not None:
        events = events.filter(actor=search.person)
    if search.verb:
        events = events.filter(verb=search.verb)
    return page_of(events, order=("-pk",), after=after, size=size)


def people_on_record() -> Sequence[StaffUser]:
    """Everybody with a sign-in, labs included: any of them may appear on the trail."""
    return list(StaffUser.objects.order_by("username"))
