"""Reading the audit trail, newest first, whole or for one patient."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import QuerySet
from django.utils import timezone

from dispensing.models import AuditEvent, Patient, StaffUser
from dispensing.queries.paging import ROWS_A_PAGE, Page, page_of


@dataclass(frozen=True)
class AuditSearch:
    """What to look for; if nothing is given, everything is found. ``since`` and ``until``: days, both included."""

    patient: Patient | None = None
    person: StaffUser | None = None
    verb: str = ""
    since: date | None = None
    until: date | None = None


def audit_events(search: AuditSearch) -> QuerySet[AuditEvent]:
    """The events with their people, newest first, and how long a visit to a patient's records went on (``look``)."""
    events = AuditEvent.objects.select_related("actor", "patient", "look").order_by("-pk")
    if search.patient is not None:
        events = events.filter(patient=search.patient)
    if search.person is not None:
        events = events.filter(actor=search.person)
    if search.verb:
        events = events.filter(verb=search.verb)
    if search.since is not None:
        events = events.filter(at__gte=_midnight(search.since))
    if search.until is not None:
        events = events.filter(at__lt=_midnight(search.until + timedelta(days=1)))
    return events


def audit_page(search: AuditSearch, *, after: str = "", size: int = ROWS_A_PAGE) -> Page[AuditEvent]:
    """One page of `audit_events`, in one query."""
    return page_of(audit_events(search), order=("-pk",), after=after, size=size)


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


def people_on_record() -> Sequence[StaffUser]:
    """Everybody with a sign-in, labs included: any of them may appear on the trail."""
    return list(StaffUser.objects.order_by("username"))
