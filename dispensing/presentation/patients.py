"""What pages say of a patient: age, how long the record is kept, what protects the patient, what is to be done next."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Literal

from django.utils import timezone

from dispensing import ages
from dispensing.ages import age_on
from dispensing.models import Patient, Practice
from dispensing.presentation.prescriptions import expired
from dispensing.roles import Ability
from dispensing.trade import Limits

Step = Literal["prescription", "fitting", "order"]


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


def next_step(patient: Patient, abilities: Collection[Ability]) -> Step:
    """What the record of this patient lacks first, of what this person may do: a prescription that is in date, a
    fitting taken since, and then an order. Whoever takes neither fittings nor orders takes in the next prescription.
    """
    latest = next(iter(patient.prescriptions.all()), None)
    is_in_date = latest is not None and not expired(latest)
    is_fitted = latest is not None and any(row.measured_on >= latest.tested_on for row in patient.fittings.all())
    if is_in_date and not is_fitted and Ability.FITTING_EDIT in abilities:
        return "fitting"
    return "order" if is_in_date and Ability.ORDER_EDIT in abilities else "prescription"
