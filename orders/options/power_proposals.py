"""Remedies about the power to be made: another use of the pair, and powers carried, compensated or as prescribed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from orders.documents.lens_catalogue import DesignKind
from orders.documents.lens_order import PowerBasis, Use
from orders.documents.names import POWER_BASES, USES
from orders.options.remedy import Proposal
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.on_basis import power_on_basis, rounded

USE_OF_KIND: Final[Mapping[DesignKind, Use]] = {
    "bifocal": "distance_and_near",
    "trifocal": "distance_and_near",
    "progressive": "distance_and_near",
    "office": "intermediate",
}


def on_basis(case: Case, basis: PowerBasis) -> dict[str, Any] | None:
    """The change that orders every lens on a basis; None if what that needs is missing for any of them."""
    change: dict[str, Any] = {"power_basis": basis}
    for eye in case.eyes:
        exact = power_on_basis(eye, basis)
        if exact is None:
            return None
        power = rounded(exact)
        stated = {"sphere": power.sphere, "cylinder": power.cylinder or None, "axis": power.axis}
        change[eye.at("lenses.power")] = stated if power.cylinder else {**stated, "axis": None}
    return change


def carried(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """Every lens carried to the distance at which it is worn; the check refuses it where the lab does so too."""
    yield from _ordered(case, "carried_to_vertex", 1.0)


def worked_out(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """The powers again, on the basis that the order states."""
    basis = case.order.power_basis
    if basis is not None and case.is_compensated_here:
        yield from _ordered(case, basis, 1.0)


def as_prescribed(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """No power stated: each follows from prescription and use."""
    change: dict[str, Any] = {one.at("lenses.power"): None for one in case.eyes}
    yield Proposal("power", "Order the powers as prescribed.", {**change, "power_basis": "as_prescribed"}, 2.0)


def uses(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """The use that the ordered kind of lens is made for; nothing tells what single vision is for."""
    use = USE_OF_KIND.get(eye.kind) if eye.kind else None
    if use is not None and use != case.order.pair_use:
        yield Proposal("use", f"Say that the pair is for {USES[use]}.", {"use": use}, 2.0)


def _ordered(case: Case, basis: PowerBasis, size: float) -> Iterator[Proposal]:
    change = on_basis(case, basis)
    if change is not None:
        powers = [(one, power_on_basis(one, basis)) for one in case.eyes]
        said = ", ".join(f"{one.eye} {words.full_power(rounded(power))}" for one, power in powers if power is not None)
        yield Proposal("power", f"Order the powers {POWER_BASES[basis]}: {said}.", change, size)
