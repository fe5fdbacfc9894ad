"""Reading patients: one with the whole record, and those worked on last. Finding them is `queries/finding.py`."""

from collections.abc import Sequence

from django.db.models import Prefetch, QuerySet

from dispensing.models import AuditEvent, Fitting, Frame, Patient, Prescription, StaffUser, WornPair

EVENTS_LOOKED_THROUGH = 200  # a day's work of one person; what lies further back is not what somebody goes on with


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
