"""Which patients the law of the practice's country protects, and who of the staff may supply them."""

from datetime import date

from django.db.models import QuerySet

from dispensing.ages import age_on
from dispensing.models import Patient, Practice, StaffUser
from dispensing.queries.limits import limits_in_force
from dispensing.roles import Role
from dispensing.trade.protection import is_british

REGISTERED_ROLES = (Role.DISPENSER, Role.MANAGER)


def why_protected(patient: Patient, on: date) -> str:
    """``is 9 years old``, ``is registered as sight-impaired``; empty if the law here protects them not on that day."""
    if not is_british(Practice.current().country):
        return ""
    years = age_on(patient.born_on, on)
    if years < limits_in_force().of("protected-patient", "below_years"):
        return f"is {years} years old"
    return "is registered as sight-impaired" if patient.sight_impaired else ""


def registered_people() -> QuerySet[StaffUser]:
    """Those who may supply protected people: dispensers and managers with a registration, still here."""
    return StaffUser.objects.filter(role__in=REGISTERED_ROLES, is_active=True, registration__regex=r"[^ ]").order_by(
        "last_name", "first_name", "pk"
    )


def is_registered(person: StaffUser | None) -> bool:
    return person is not None and person.role in REGISTERED_ROLES and bool(person.registration.strip())
