"""An order at a limit of the trade, and how the quantities of such orders are made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from dispensing.trade import Limits
from orders.rules.case import Case
from orders.rules.examples import Example

ABOVE, FROM, BELOW, UP_TO = "above", "from", "below", "up to"
"""Where a rule speaks: beyond the limit only, or on it as well; on its upper or its lower side."""


Changes = dict[str, Any]


ORDERED_ON = date(2026, 11, 25)
"""The day of the clean order."""


@dataclass(frozen=True)
class Edge:
    """``at``: the order, by what differs from the clean one, in which the quantity that is compared is so much.

    ``step``: how far beyond and within the limit is tried. ``level``, ``eye``: of the finding; ``says``: words that
    its message has only on that side, for a limit that changes what is advised. ``null``, ``catalogue``: as in the
    examples of the rules. ``besides``: what differs in all three orders.
    """

    rule: str
    limit: str
    value: float
    speaks: str
    at: Callable[[float], Changes]
    level: str = "ask"
    eye: str | None = "right"
    says: str = ""
    step: float = 0.02
    null: tuple[str, ...] = ()
    besides: Changes | None = None
    others: Callable[[float], Changes] | None = None
    catalogue: Callable[[float], Changes] | None = None
    catalogue_null: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.rule} {self.limit}"

    def order(self, quantity: float) -> Example:
        changed = _nested({**(self.besides or {}), **self.at(quantity)})
        beside = () if self.others is None else ({"number": "E-00000", **_nested(self.others(quantity))},)
        return Example(
            self.rule,
            "trips",
            "at a limit",
            set=changed,
            null=self.null,
            catalogue=_nested(self.catalogue(quantity) if self.catalogue else {}),
            catalogue_null=self.catalogue_null,
            others=beside,
        )

    def sides(self) -> list[tuple[float, bool]]:
        """Each quantity tried, and whether the rule speaks there."""
        outwards = self.step if self.speaks in (ABOVE, FROM) else -self.step
        on_it = self.speaks in (FROM, UP_TO)
        return [(self.value - outwards, False), (self.value, on_it), (self.value + outwards, True)]


def _nested(paths: Changes) -> Changes:
    found: Changes = {}
    for path, value in paths.items():
        *parents, last = path.split(".")
        part = found
        for name in parents:
            part = part.setdefault(name, {})
        part[last] = value
    return found


def field(path: str, scale: float = 1.0, offset: float = 0.0) -> Callable[[float], Changes]:
    """The quantity is a field of the order, as it is or turned into one: ``offset + scale × quantity``."""
    return lambda q: {path: round(offset + scale * q, 6)}


def of_age(years: float) -> Changes:
    """A wearer whose birthday is the day of the order."""
    return {"patient.born_on": f"{2026 - round(years)}-11-25"}


def half_each(path: str, offset: float = 0.0, scale: float = 0.5) -> Callable[[float], Changes]:
    return lambda q: {f"fitting.{eye}.{path}": offset + scale * q for eye in ("right", "left")}


def at_which(quantity: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Between ``low`` and ``high``, over which the quantity grows, the place where it is as wanted."""
    for _ in range(50):
        middle = (low + high) / 2.0
        low, high = (middle, high) if quantity(middle) < wanted else (low, middle)
    return (low + high) / 2.0


def case_of(changes: Changes) -> Case:
    """The order as the rules see it, for quantities that no field of an order states."""
    order = Example("", "trips", "", set=_nested(changes))
    return Case(order.order(), order.lens_catalogue(), (), Limits())


SINGLE = {"lenses.right.design": "single", "lenses.left.design": "single"}


NO_PREVIOUS = ("previous_prescription",)


def spheres(now: tuple[float, float], then: tuple[float, float]) -> Changes:
    return {
        f"{part}.{eye}.{name}": value
        for part, pair in (("prescription", now), ("previous_prescription", then))
        for eye, sphere in zip(("right", "left"), pair, strict=True)
        for name, value in (("sphere", sphere), ("cylinder", None), ("axis", None))
    }


def base_in(amount: float) -> list[Changes]:
    return [{"amount": amount, "base": "in"}]


def imbalance(q: float) -> Changes:
    """Spheres this far apart make as many prism dioptres 10 mm below their centres."""
    return spheres((-2.0, -2.0 - q), (-2.0, -2.0 - q))
