"""A patient's age, how long the record is kept, and what protects the patient, as pages say it."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from dispensing import ages
from dispensing.ages import age_on
from dispensing.models import Patient, Practice
from dispensing.trade import Limits


def age(born_on: date) -> int:
    """The patient's age today in whole years."""
    return age_on(born_on, timezone.localdate())


def kept_until(patient: Patient, practice: Practice) -> date | None:
    """The day until which the practice keeps this record; None for a patient who has never been seen."""
    if patient.last_seen_on is None:
        return None
    return ages.kept_until(
        patient.born_on,
        patient.last_seen_on,
        adult_years=practice.keep_adult_years,
        child_until_age=practice.keep_child_until_age,
    )


def protected(patient: Patient, limits: Limits) -> str:
    """``{{ patient|protected:limits }}``: why the law protects this patient, in a word or two; empty if it does not."""
    years = age(patient.born_on)
    if years < limits.of("protected-patient", "below_years"):
        return f"Protected: child of {years}"
    return "Protected: sight-impaired" if patient.sight_impaired else ""
