"""Reading prescriptions: one as its page shows it, the one before it, those that end soon, and who prescribed."""

from datetime import date

from django.db.models import Exists, Max, OuterRef, Q, QuerySet

from dispensing.models import Patient, Prescription
from dispensing.models.choices import Use

MOST_PRESCRIBERS = 100
MOST_UNASKED = 200
ENDING_ORDER = ("expires_on", "pk")


def with_lines() -> QuerySet[Prescription]:
    return Prescription.objects.select_related("patient", "recorded_by").prefetch_related("eyes", "scans")


def prescription_before(
    patient: Patient, tested_on: date | None, apart_from: Prescription | None = None
) -> Prescription | None:
    """The patient's latest prescription tested on or before ``tested_on`` (or of all), other than ``apart_from``."""
    earlier = with_lines().filter(patient=patient)
    if apart_from is not None:
        earlier = earlier.exclude(pk=apart_from.pk)
        if tested_on is not None:
            # Two from the same day are in the order in which they were entered.
            earlier = earlier.filter(Q(tested_on__lt=tested_on) | Q(tested_on=tested_on, pk__lt=apart_from.pk))
    elif tested_on is not None:
        earlier = earlier.filter(tested_on__lte=tested_on)
    return earlier.first()


def prescriptions_of_a_day(patient: Patient, tested_on: date, use: str) -> QuerySet[Prescription]:
    """The patient's prescriptions of one test for one distance: more than one is hardly ever meant."""
    return with_lines().filter(patient=patient, tested_on=tested_on, use=use)


def known_prescribers() -> list[str]:
    """Who prescribed what is on record, by name, whoever did so last first; each once, to be picked from."""
    named = Prescription.objects.exclude(prescriber="").order_by().values("prescriber").annotate(last=Max("pk"))
    return [row["prescriber"] for row in named.order_by("-last")[:MOST_PRESCRIBERS]]


def ending(first: date, last: date, way: str = "") -> QuerySet[Prescription]:
    """Prescriptions that end on these days and that no newer one replaces, of patients who agreed to be contacted.

    ``way``: only of those who agreed to be told by ``email`` or by ``text`` besides.
    """
    agreed = {"email": {"patient__notices_by_email": True}, "text": {"patient__notices_by_text": True}}.get(way, {})
    rows = _ending(first, last).filter(patient__may_be_contacted=True, **agreed)
    return rows.select_related("patient")


def ending_unasked(first: date, last: date) -> int:
    """How many more end on these days, of patients who were not asked whether they may be contacted; counted no
    further than to `MOST_UNASKED`.
    """
    return _ending(first, last).filter(patient__may_be_contacted=None)[:MOST_UNASKED].count()


def _ending(first: date, last: date) -> QuerySet[Prescription]:
    same_day = Q(tested_on=OuterRef("tested_on"), pk__gt=OuterRef("pk"))
    newer = Prescription.objects.filter(Q(tested_on__gt=OuterRef("tested_on")) | same_day, patient=OuterRef("patient"))
    # One for a single distance replaces only what was for that distance; for both, it takes both.
    replaced = Exists(newer.filter(use__in=(Use.DISTANCE_AND_NEAR, OuterRef("use"))))
    by_two = Exists(newer.filter(use=Use.DISTANCE)) & Exists(newer.filter(use=Use.NEAR))
    rows = Prescription.objects.filter(expires_on__range=(first, last))
    return rows.exclude(replaced).exclude(Q(by_two, use=Use.DISTANCE_AND_NEAR))
