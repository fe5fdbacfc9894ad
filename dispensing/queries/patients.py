"""Reading patients: finding them by what people remember, page by page, and those worked on last."""

from collections.abc import Sequence

from django.db.models import Prefetch, QuerySet

from dispensing.dates import dates_within
from dispensing.folding import digits_of, folded_words
from dispensing.models import AuditEvent, Fitting, Frame, Patient, Prescription, StaffUser, WornPair
from dispensing.queries.paging import Page, page_of

PATIENTS_A_PAGE = 25
LONGEST_SEARCH = 200
EVENTS_LOOKED_THROUGH = 200  # a day's work of one person; what lies further back is not what somebody goes on with
_IN_ORDER = ("family_name", "given_names", "pk")
# A phone number as typed: figures with whatever people put between them.
_PHONE_MARKS = set("0123456789 +()-./")


def find_patients(text: str, month_first: bool = False) -> QuerySet[Patient]:
    """Every word must be found: in the names (any part), the reference, the phone number or the date of birth."""
    found = Patient.objects.order_by(*_IN_ORDER)
    born, rest = dates_within(text, month_first)
    if born:
        found = found.filter(born_on__in=born)
    if _is_phone(rest):
        # A leading zero or two is for dialling and not part of the number.
        return found.filter(search_text__contains=digits_of(rest).lstrip("0"))
    for word in folded_words(rest):
        found = found.filter(search_text__contains=word)
    return found


def _is_phone(text: str) -> bool:
    return set(text) <= _PHONE_MARKS and len(digits_of(text)) >= 5


def patients_page(found: QuerySet[Patient], *, after: str = "", size: int = PATIENTS_A_PAGE) -> Page[Patient]:
    """One page in order of name. Its key contains a name, so it is sent by POST and never appears in an address."""
    return page_of(found, order=_IN_ORDER, after=after, size=size)


def last_worked_on(user: StaffUser, count: int = 8) -> Sequence[Patient]:
    """The patients whose records this person changed last, newest first."""
    done = AuditEvent.objects.filter(actor=user, patient__isnull=False).order_by("-pk")
    newest = done.values_list("patient", flat=True)[:EVENTS_LOOKED_THROUGH]
    order = list(dict.fromkeys(newest))[:count]
    found = Patient.objects.in_bulk(order)
    return [found[pk] for pk in order]


def with_record() -> QuerySet[Patient]:
    """Patients with everything their page shows, in a fixed number of queries."""
    return Patient.objects.select_related("registered_by").prefetch_related(
        Prefetch("prescriptions", Prescription.objects.select_related("recorded_by").prefetch_related("eyes", "scans")),
        Prefetch("worn_pairs", WornPair.objects.prefetch_related("eyes")),
        Prefetch("fittings", Fitting.objects.select_related("frame", "recorded_by").prefetch_related("measurements")),
        Prefetch("own_frames", Frame.objects.order_by("-added_at", "-pk")),
    )
