"""Reading the pairs that patients wear: all of one patient, and the one that a new order is compared with."""

from datetime import date, timedelta

from django.db.models import QuerySet

from dispensing.models import Patient, WornPair
from dispensing.prescribing.uses import comparable_uses
from dispensing.trade import figure


def with_eyes() -> QuerySet[WornPair]:
    return WornPair.objects.select_related("patient", "recorded_by").prefetch_related("eyes")


def worn_now(patient: Patient, use: str, on: date) -> WornPair | None:
    """The pair worn on that day for what ``use`` is for, else the one last read; None if none was read lately.

    A pair read long before is hardly the one worn now.
    """
    since = on - timedelta(days=figure("worn-pair", "read_within_days"))
    read = list(WornPair.objects.filter(patient=patient, read_on__range=(since, on)).prefetch_related("eyes"))
    fitting = [pair for pair in read if pair.use in comparable_uses(use)]
    return next(iter(fitting or read), None)
