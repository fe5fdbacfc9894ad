"""Reading patients: finding by what people remember, page by page, and who was worked on last."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Max, Prefetch, Q, QuerySet

from dispensing.dates import dates_within
from dispensing.folding import digits_of, folded_words
from dispensing.models import AuditEvent, Fitting, Frame, Patient, Prescription, StaffUser

PAGE_SIZE = 25
_IN_ORDER = ("family_name", "given_names", "pk")
# A phone number as typed: figures with whatever people put between them.
_PHONE_MARKS = set("0123456789 +()-./")


@dataclass(frozen=True)
class PatientPage:
    """Some patients in order of name, and the key of the next page where there is one."""

    rows: Sequence[Patient]
    next_key: uuid.UUID | None
    first: bool


def find_patients(text: str, month_first: bool = False) -> QuerySet[Patient]:
    """Every word must be found: in the names (any part), the reference, the phone or the date of birth."""
    found = Patient.objects.order_by(*_IN_ORDER)
    born, rest = dates_within(text, month_first)
    if born:
        found = found.filter(born_on__in=born)
    if _is_phone(rest):
        # The first zero or two belong to the way of dialling, not to the number.
        return found.filter(search_text__contains=digits_of(rest).lstrip("0"))
    for word in folded_words(rest):
        found = found.filter(search_text__contains=word)
    return found


def _is_phone(text: str) -> bool:
    return set(text) <= _PHONE_MARKS and len(digits_of(text)) >= 5


def page_of(found: QuerySet[Patient], after: uuid.UUID | None = None, size: int = PAGE_SIZE) -> PatientPage:
    """The patients that follow ``after`` in order of name; by key, so that page 400 costs what page 1 does."""
    last = Patient.objects.filter(public_id=after).only(*_IN_ORDER).first() if after else None
    if last is not None:
        same_family = Q(family_name=last.family_name)
        found = found.filter(
            Q(family_name__gt=last.family_name)
            | same_family & Q(given_names__gt=last.given_names)
            | same_family & Q(given_names=last.given_names, pk__gt=last.pk)
        )
    rows = list(found[: size + 1])
    more = len(rows) > size
    return PatientPage(rows[:size], rows[size - 1].public_id if more else None, first=last is None)


def last_worked_on(user: StaffUser, count: int = 8) -> Sequence[Patient]:
    """The patients whose records this person changed last, newest first."""
    newest = (
        AuditEvent.objects.filter(actor=user, patient__isnull=False)
        .order_by()
        .values("patient")
        .annotate(newest=Max("pk"))
        .order_by("-newest")
        .values_list("patient", flat=True)[:count]
    )
    order = list(newest)
    found = Patient.objects.in_bulk(order)
    return [found[pk] for pk in order]


def with_record() -> QuerySet[Patient]:
    """Patients with all that their page shows, in a fixed number of queries."""
    return Patient.objects.select_related("registered_by").prefetch_related(
        Prefetch("prescriptions", Prescription.objects.select_related("recorded_by").prefetch_related("eyes", "scans")),
        Prefetch("fittings", Fitting.objects.select_related("frame", "recorded_by").prefetch_related("measurements")),
        Prefetch("own_frames", Frame.objects.order_by("-added_at", "-pk")),
    )
