"""`verify`: an order as sent, the readings of the finished pair and a standard in; a ``finished-verdict/1`` out.

One figure that fails sends the pair back; one that is borderline, or that is needed and was not read, asks for another
reading; otherwise the pair is what was ordered. This module must never know who reads it or where it is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from dispensing.trade.tolerances import ToleranceSet, tolerance_set
from orders.documents.finished_pair import EyeReadings, FinishedReadings, FinishedVerdict, Verdict, VerdictItem
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import EYES, LensOrder
from orders.verification.centration import Lens, centration_items
from orders.verification.found import FoundEye, found_eye
from orders.verification.judging import Missing, judged
from orders.verification.ordered import OrderedEye, ordered_eye
from orders.verification.powers import power_items
from orders.verification.slips import Slip, slips_in

Outcome = VerdictItem | Missing


def verify(
    order: LensOrder,
    readings: FinishedReadings,
    standard: str | ToleranceSet,
    catalogue: LensCatalogue | None = None,
) -> FinishedVerdict:
    """Whether the pair is what was ordered, figure by figure.

    standard: the name of a standard, or a set in which a practice's own limits stand. catalogue: tells the kind of each
    design, where the order itself does not. KeyError for a standard that is not known.

    ``extra`` of the verdict says by which edition it was judged, which figures are needed and were not read
    (``not_read``), and what looks like a slip in the readings (``slips``); ``extra`` of an item gives its unit, its
    limit with source and grade, and the uncertainty of the reading.
    """
    limits = tolerance_set(standard) if isinstance(standard, str) else standard
    outcomes = tuple(_outcomes(order, readings, limits, catalogue))
    items = tuple(one for one in outcomes if isinstance(one, VerdictItem))
    missing = tuple(one for one in outcomes if isinstance(one, Missing))
    slips = slips_in(order, readings, items, lambda other: _items(order, other, limits, catalogue))
    return FinishedVerdict(
        number=order.number,
        verdict=_verdict(items, missing),
        items=items,
        extra=_said(limits, missing, slips),
    )


def _items(
    order: LensOrder, readings: FinishedReadings, limits: ToleranceSet, catalogue: LensCatalogue | None
) -> tuple[VerdictItem, ...]:
    """The items alone, for readings as they might have been meant."""
    return tuple(one for one in _outcomes(order, readings, limits, catalogue) if isinstance(one, VerdictItem))


def _outcomes(
    order: LensOrder, readings: FinishedReadings, limits: ToleranceSet, catalogue: LensCatalogue | None
) -> Iterator[Outcome]:
    lenses = _lenses(order, readings, catalogue)
    for ordered, found in lenses:
        yield from power_items(ordered, found, limits)
    if lenses:
        yield from centration_items(lenses, readings.pair, limits)
    for ordered, found in lenses:
        yield from _body(ordered, found, limits)


def _lenses(order: LensOrder, readings: FinishedReadings, catalogue: LensCatalogue | None) -> Sequence[Lens]:
    """Each lens that is judged, with what was read of it."""
    pairs = ((ordered_eye(order, readings, eye, catalogue), readings.eye(eye)) for eye in EYES)
    return [(ordered, found_eye(read or EyeReadings())) for ordered, read in pairs if ordered is not None]


def _body(ordered: OrderedEye, found: FoundEye, limits: ToleranceSet) -> Iterator[VerdictItem]:
    """Centre thickness and base curve, where they were ordered and read."""
    thickness = limits.row("centre_thickness", ordered.lens_class)
    if thickness and ordered.centre_thickness_mm is not None and found.centre_thickness_mm is not None:
        yield judged(
            ordered.eye,
            "centre_thickness",
            thickness,
            ordered=ordered.centre_thickness_mm,
            found=found.centre_thickness_mm,
            tolerance=thickness.value,
        )
    curve = limits.row("base_curve", ordered.lens_class)
    if curve and ordered.base_curve_d is not None and found.base_curve_d is not None:
        yield judged(
            ordered.eye,
            "base_curve",
            curve,
            ordered=ordered.base_curve_d,
            found=found.base_curve_d,
            tolerance=curve.value,
        )


def _verdict(items: Iterable[VerdictItem], missing: Sequence[Missing]) -> Verdict:
    results = [item.result for item in items]
    if "fail" in results:
        return "return"
    return "measure_again" if missing or "borderline" in results or not results else "accept"


def _said(limits: ToleranceSet, missing: Sequence[Missing], slips: Sequence[Slip]) -> dict[str, object]:
    return {
        "standard": {"id": limits.id, "title": limits.title, "edition": limits.edition},
        "not_read": [{"eye": one.eye, "quantity": one.quantity} for one in missing],
        "slips": [slip.said() for slip in slips],
    }
