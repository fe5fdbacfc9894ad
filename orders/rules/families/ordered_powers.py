"""Does a power that is stated to be made follow from the prescription, and has only one side compensated it?"""

from __future__ import annotations

import re
from collections.abc import Iterator

from dispensing.optics.power import SphereCylinder, residual_cylinder
from orders.documents.lens_order import OrderedPower, PowerBasis, PrismPart
from orders.documents.names import POWER_BASES, USES
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above
from orders.rules.finding import Finding
from orders.rules.on_basis import missing_for, power_on_basis, rounded
from orders.rules.powers import WrittenPower
from orders.rules.registry import Family

rule = Family("ordered powers").rule

ID = "ordered-power"
COMPENSATED = re.compile(r"(?i)(?<!\bnot )(?<!\bnot yet )\b(compensated|vertex (corrected|adjusted))")


@rule(
    id="compensated-twice",
    number=81,
    level="stop",
    title="A power is compensated once",
    why="A lens made for the position of wear compensates the power itself; one compensated before is then wrong.",
)
def compensated_twice(case: Case) -> Iterator[Finding]:
    """The order says so by the basis of its powers, or only in its remarks."""
    said = _said_to_be_compensated(case)
    for eye in case.eyes if said else ():
        if said is not None and eye.design is not None and eye.design.compensated is True:
            found, sentence, field = said
            yield Finding(
                f"{sentence}, and {eye.design.name} ({eye.eye} lens) compensates the power itself.",
                "Order the power as prescribed, or a lens that is made as ordered.",
                eye.eye,
                found,
                "a power as prescribed",
                None,
                ("Order the power as prescribed.", "Choose a lens that is made as ordered."),
                field,
            )


def _said_to_be_compensated(case: Case) -> tuple[str, str, str] | None:
    """What the order says of it: the words, a sentence about them, and the key where they stand."""
    basis = case.order.power_basis
    if case.is_compensated_here and basis is not None:
        return POWER_BASES[basis], f"The practice has the powers {POWER_BASES[basis]}", "power_basis"
    said = COMPENSATED.search(case.order.remarks or "")
    return (said.group(0), f"The remarks say “{said.group(0)}”", "remarks") if said else None


@rule(
    id=ID,
    number=132,
    level="ask",
    title="The power to be made follows from prescription, use and basis",
    why="The lab makes the power that is stated; one that does not follow from the prescription is nobody's.",
)
def ordered_power(case: Case) -> Iterator[Finding]:
    basis = case.order.power_basis or "as_prescribed"
    stated = [eye for eye in case.eyes if eye.lens is not None and eye.lens.power is not None]
    if case.eyes and case.is_compensated_here and not stated:
        yield _nothing_stated(case, basis)
    for eye in stated:
        power = eye.lens.power if eye.lens is not None else None
        if power is not None:
            yield from _judged(case, eye, power, basis)


def _nothing_stated(case: Case, basis: PowerBasis) -> Finding:
    return Finding(
        f"The powers are said to be {POWER_BASES[basis]}, and the order states none, so the lab makes those of the "
        "prescription.",
        "State the powers to be made, or order them as prescribed.",
        case.pair_or_eye,
        None,
        "powers to be made",
        None,
        ("Have the powers worked out.", "Order the powers as prescribed."),
        "power_basis",
    )


def _judged(case: Case, eye: EyeCase, power: OrderedPower, basis: PowerBasis) -> Iterator[Finding]:
    lacking = missing_for(eye, basis)
    wanted, now = power_on_basis(eye, basis), eye.made_power.optical
    if power.sphere is None or now is None:
        yield _incomplete(eye)
    elif lacking is not None:
        yield _without(eye, basis, *lacking)
    elif wanted is not None:
        off = _apart(now, wanted)
        most = case.limit(ID, "exact_d" if basis == "as_prescribed" else "rounding_d")
        if above(off, most):
            yield _does_not_follow(case, eye, basis, now, wanted, (off, most))
    yield from _other_prism(eye)


def _apart(now: SphereCylinder, wanted: SphereCylinder) -> float:
    """The largest of three differences in D: of the spheres, of the cylinders, and what a turned axis leaves over."""
    one, other = now.in_minus_cylinder(), wanted.in_minus_cylinder()
    turned = residual_cylinder(min(one.cylinder, other.cylinder), one.axis - other.axis)
    return max(abs(one.sphere - other.sphere), abs(one.cylinder - other.cylinder), turned)


def _incomplete(eye: EyeCase) -> Finding:
    return Finding(
        f"A power to be made is begun for the {eye.name} and is not complete.",
        "Give sphere, cylinder and axis, or leave all of it to the prescription.",
        eye.eye,
        None,
        "a complete power",
        "D",
        ("Complete the power to be made.", "Clear it, so that it follows from the prescription."),
        eye.at("lenses.power"),
    )


def _without(eye: EyeCase, basis: PowerBasis, name: str, field: str) -> Finding:
    return Finding(
        f"The power of the {eye.name} is said to be {POWER_BASES[basis]}, and the {name} is missing or impossible, so "
        "nobody can follow it.",
        f"Give the {name}, or order the power as prescribed.",
        eye.eye,
        None,
        f"the {name}",
        None,
        (f"Give the {name}.", "Order the power as prescribed."),
        field,
    )


def _does_not_follow(
    case: Case,
    eye: EyeCase,
    basis: PowerBasis,
    now: SphereCylinder,
    wanted: SphereCylinder,
    figures: tuple[float, float],
) -> Finding:
    use = f" for {USES[eye.made.use]}" if eye.made.use and eye.made.is_for_close_work else ""
    right = words.full_power(wanted if basis == "as_prescribed" else rounded(wanted))
    return Finding(
        f"The {eye.eye} lens is to be made {words.full_power(now)}; {POWER_BASES[basis]}{use} it is {right}.",
        _guess(case, eye, now) or "Have it worked out again, or confirm it.",
        eye.eye,
        figures[0],
        figures[1],
        "D",
        (f"Order {right}.", "Confirm a power that was agreed with the prescriber."),
        eye.at("lenses.power"),
    )


def _guess(case: Case, eye: EyeCase, now: SphereCylinder) -> str | None:
    """What the stated power is instead, if it is something that can be named."""
    prescribed = eye.power.optical
    if prescribed is not None and eye.made.is_for_close_work and not above(_apart(now, prescribed), _least(case)):
        return "That is the power for the distance: is the add forgotten?"
    for basis in POWER_BASES:
        power = power_on_basis(eye, basis)
        if power is not None and not above(_apart(now, power), _least(case)):
            return f"That is the power {POWER_BASES[basis]}: say so, or have it worked out again."
    return None


def _least(case: Case) -> float:
    return case.limit(ID, "exact_d")


def _other_prism(eye: EyeCase) -> Iterator[Finding]:
    stated, prescribed = eye.made_power, eye.power
    if _sizes(stated) == _sizes(prescribed):
        return
    said, meant = _in_words(stated.prisms), _in_words(prescribed.prisms)
    yield Finding(
        f"The power to be made for the {eye.name} has {said}; {meant} is prescribed.",
        "Order the prescribed prism, or confirm.",
        eye.eye,
        said,
        meant,
        None,
        ("Order the prescribed prism.", "Confirm a prism that was agreed with the prescriber."),
        eye.at("lenses.power"),
    )


def _sizes(power: WrittenPower) -> list[tuple[float, str]]:
    return sorted((part.amount, part.base or "") for part in power.prisms if part.amount)


def _in_words(parts: tuple[PrismPart, ...]) -> str:
    given = [f"{words.prism(part.amount)} base {part.base or 'unknown'}" for part in parts if part.amount]
    return words.listed(given) or "no prism"
