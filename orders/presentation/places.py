"""Where a person goes to change what a finding is about: a field of the desk, or of the record's own page.

It knows the names of fields and pages, and decides nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse

from dispensing.roles import Ability
from orders.models import Order

AT_THE_DESK = {
    "use": "use",
    "lab.name": "lab",
    "supply": "supply",
    "frame.source": "frame_source",
    "ordered_by": "registered",
    "other_pair": "other_pair",
    "needed_on": "needed_on",
    "purpose": "purpose",
    "remake_of": "remake_of",
    "remarks": "remarks",
}
ON_THE_PATIENT = {
    "born_on": "born_on",
    "driver": "driver",
    "protected": "sight_impaired",
    "extra.hazards": "occupation",
}
EYES = ("right", "left")


@dataclass(frozen=True, slots=True)
class Place:
    """An address, and the ability that its page asks for."""

    href: str
    ability: Ability


def place_of(field: str | None, order: Order) -> Place | None:
    """Where the field of a finding is changed; None if no page has it."""
    section, _, rest = (field or "").partition(".")
    if field in AT_THE_DESK:
        return _desk(AT_THE_DESK[field])
    if field == "power_basis" or (section == "lenses" and rest.endswith(".power")):
        return Place("#powers-title", Ability.ORDER_EDIT)
    if section == "lenses":
        return _lens(rest, order)
    if section == "patient" and rest in ON_THE_PATIENT:
        return Place(_page("patient-correct", order.patient.public_id, ON_THE_PATIENT[rest]), Ability.PATIENT_EDIT)
    if section == "prescription":
        return _prescription(rest, order)
    if section == "frame":
        return _frame(rest, order)
    return _fitting(order) if section == "fitting" else None


def _desk(name: str) -> Place:
    return Place(f"#id_{name}", Ability.ORDER_EDIT)


def _lens(rest: str, order: Order) -> Place:
    """A lens made like the right one has no fields of its own."""
    eye, _, key = rest.partition(".")
    lenses = order.lenses or {}
    if eye not in EYES or lenses.get(eye) is None:
        return _desk("eyes_0")
    shown = "right" if lenses.get("right") == lenses.get("left") else eye
    return _desk(f"{shown}-{key or 'design'}")


def _prescription(rest: str, order: Order) -> Place:
    if order.prescription is None:
        return _desk("prescription")
    eye, _, key = rest.partition(".")
    name = f"{eye}-{'prism_horizontal' if key == 'prism' else key or 'sphere'}" if eye in EYES else rest
    return Place(_page("prescription-correct", order.prescription.public_id, name), Ability.PRESCRIPTION_EDIT)


def _frame(rest: str, order: Order) -> Place:
    if order.frame is None:
        return _desk("fitting")
    name = "shape" if rest.startswith("shape") else rest
    return Place(_page("frame-correct", order.frame.public_id, name), Ability.FRAME_EDIT)


def _fitting(order: Order) -> Place:
    if order.fitting is None:
        return _desk("fitting")
    return Place(reverse("fitting-correct", args=[order.fitting.public_id]), Ability.FITTING_EDIT)


def _page(name: str, key: object, field: str) -> str:
    return f"{reverse(name, args=[key])}#id_{field}" if field else reverse(name, args=[key])
