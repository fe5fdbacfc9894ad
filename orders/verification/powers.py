"""The power of one lens: principal meridians, cylinder, axis and add, each as the standard judges it.

The meridians of order and reading are paired by size, so neither the cylinder form nor the axis decides which is
compared with which; the axis is judged by itself. This module must never know the other lens.
"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.trade.tolerances import ToleranceSet
from orders.documents.finished_pair import VerdictItem
from orders.rules.powers import WrittenPower
from orders.verification.found import HALF_TURN, FoundEye
from orders.verification.judging import Missing, judged
from orders.verification.ordered import OrderedEye

Pair = tuple[float, float]
QUARTER_TURN = HALF_TURN / 2.0


def power_items(ordered: OrderedEye, found: FoundEye, standard: ToleranceSet) -> Iterator[VerdictItem | Missing]:
    """Everything about the power of one lens; a figure that is needed and was not read comes as `Missing`."""
    if ordered.power.sphere is not None:
        if found.has_power:
            yield from _meridians(ordered, found, standard)
            yield from _cylinder(ordered, found, standard)
            yield from _axis(ordered, found, standard)
        else:
            yield Missing(ordered.eye, "meridian_high")
    yield from _add(ordered, found, standard)


def _meridians(ordered: OrderedEye, found: FoundEye, standard: ToleranceSet) -> Iterator[VerdictItem]:
    strongest = ordered.power.strongest_d or 0.0
    row = standard.row("meridian", ordered.lens_class, power=strongest)
    if row is None:
        return
    wanted, read = _by_size(ordered.power), _by_size(found.power)
    high = _stronger(wanted, read)
    for quantity, at in (("meridian_high", high), ("meridian_low", 1 - high)):
        if quantity in standard.judges:
            yield judged(
                ordered.eye,
                "meridian_high" if at == high else "meridian_low",
                row,
                ordered=wanted[at],
                found=read[at],
                tolerance=row.allowed(strongest),
            )


def _by_size(power: WrittenPower) -> Pair:
    """The principal powers in D, the more positive first; twice the same for a sphere."""
    return max(power.meridians_d), min(power.meridians_d)


def _stronger(wanted: Pair, read: Pair) -> int:
    """Which of two principal powers is the stronger one; of two equally strong ones, the one that is further off."""
    sizes = abs(wanted[0]), abs(wanted[1])
    if sizes[0] != sizes[1]:
        return 0 if sizes[0] > sizes[1] else 1
    return 0 if abs(read[0] - wanted[0]) >= abs(read[1] - wanted[1]) else 1


def _cylinder(ordered: OrderedEye, found: FoundEye, standard: ToleranceSet) -> Iterator[VerdictItem]:
    size, strongest = abs(ordered.cylinder), ordered.power.strongest_d or 0.0
    row = standard.row("cylinder", ordered.lens_class, power=strongest, cylinder=size)
    if row is None:
        return
    sign = 1.0 if ordered.cylinder > 0.0 else -1.0
    read = abs(found.power.cylinder or 0.0)
    yield judged(ordered.eye, "cylinder", row, ordered=sign * size, found=sign * read, tolerance=row.allowed(size))


def _axis(ordered: OrderedEye, found: FoundEye, standard: ToleranceSet) -> Iterator[VerdictItem | Missing]:
    wanted = ordered.power.axis
    row = standard.row("axis", ordered.lens_class, cylinder=abs(ordered.cylinder))
    if row is None or wanted is None or not found.power.cylinder:
        return
    if found.axis is None:
        yield Missing(ordered.eye, "axis")
        return
    read = in_the_form_of(ordered.cylinder, found)
    error = axis_error(wanted, read)
    yield judged(ordered.eye, "axis", row, ordered=wanted, found=read, tolerance=row.allowed(wanted), error=error)


def in_the_form_of(cylinder: float, found: FoundEye) -> float:
    """The axis read, in degrees, as it would stand beside a cylinder of this sign."""
    axis = found.axis or HALF_TURN
    if (found.power.cylinder or 0.0) * cylinder >= 0.0:
        return axis
    return axis - QUARTER_TURN if axis > QUARTER_TURN else axis + QUARTER_TURN


def axis_error(wanted: float, read: float) -> float:
    """How far an axis is turned from another, in degrees, from -90 to 90; 180 is the same as 0."""
    return (read - wanted + QUARTER_TURN) % HALF_TURN - QUARTER_TURN


def _add(ordered: OrderedEye, found: FoundEye, standard: ToleranceSet) -> Iterator[VerdictItem | Missing]:
    if not ordered.add:
        return
    if found.add is None:
        yield Missing(ordered.eye, "add")
        return
    row = standard.row("add", ordered.lens_class, add=abs(ordered.add))
    if row is not None:
        yield judged(ordered.eye, "add", row, ordered=ordered.add, found=found.add, tolerance=row.allowed(ordered.add))
