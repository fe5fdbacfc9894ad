"""Reading patients: who was worked on last."""

from collections.abc import Sequence

from django.db.models import Max

from dispensing.models import AuditEvent, Patient, StaffUser


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
