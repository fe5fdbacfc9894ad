"""Reading prescriptions: one with everything its page shows, the one before it, and who prescribed those on record."""

from datetime import date

from django.db.models import Max, Q, QuerySet

from dispensing.models import Patient, Prescription

MOST_PRESCRIBERS = 100


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


def known_prescribers() -> list[str]:
    """Who prescribed what is on record, by name, whoever did so last first; each once, to be picked from."""
    named = Prescription.objects.exclude(prescriber="").order_by().values("prescriber").annotate(last=Max("pk"))
    return [row["prescriber"] for row in named.order_by("-last")[:MOST_PRESCRIBERS]]
