"""Where the centres of the pair lie, as prism and as lengths: prism of the pair, PD, and heights.

A standard limits the prism that a pair brings where nobody prescribed it. For weak lenses that is a prism, for strong
ones the shift that brings it; in single vision PD and heights are held to the same limit as what they bring (Prentice).
Which of two unequal lenses decides is from memory: the weaker one, which is the stricter. This module must never judge
a power.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from dispensing.trade.tolerances import Judged, ToleranceRow, ToleranceSet
from orders.documents.finished_pair import PairReadings, Quantity, VerdictItem
from orders.verification.found import FoundEye
from orders.verification.judging import Missing, PairEye, judged
from orders.verification.ordered import OrderedEye

Lens = tuple[OrderedEye, FoundEye]
Way = Literal["prism_horizontal", "prism_vertical"]
ALONG: dict[Way, float] = {"prism_horizontal": 180.0, "prism_vertical": 90.0}
WEAKEST_D = 0.01
"""A lens weaker than this brings no prism wherever its centre lies."""


def centration_items(
    lenses: Sequence[Lens], pair: PairReadings | None, standard: ToleranceSet
) -> Iterator[VerdictItem | Missing]:
    """Everything about the centres of one or two lenses."""
    for way in ALONG:
        yield from _prism(lenses, pair, standard, way)
    yield from _pds(lenses, standard)
    yield from _heights(lenses, standard)


def _prism(
    lenses: Sequence[Lens], pair: PairReadings | None, standard: ToleranceSet, way: Way
) -> Iterator[VerdictItem | Missing]:
    """Of a pair in its frame what both lenses bring together; of a lens by itself, its own."""
    if not _is_pair(lenses):
        for lens in lenses:
            yield from _judged_prism(
                [lens], lens[0].eye, _of(lens[0], way), _read(lens[1], way), standard, way, mounted=False
            )
        return
    (right, found_right), (left, found_left) = lenses
    signed = 1.0 if way == "prism_horizontal" else -1.0
    read_right, read_left = _read(found_right, way), _read(found_left, way)
    found = _bracketed(pair, way)
    if found is None and read_right is not None and read_left is not None:
        found = read_right + signed * read_left
    wanted = _of(right, way) + signed * _of(left, way)
    yield from _judged_prism(lenses, "both", wanted, found, standard, way, mounted=True)


def _judged_prism(
    lenses: Sequence[Lens],
    eye: PairEye,
    wanted: float,
    found: float | None,
    standard: ToleranceSet,
    way: Way,
    *,
    mounted: bool,
) -> Iterator[VerdictItem | Missing]:
    if found is None:
        if any(_of(ordered, way) for ordered, _ in lenses):
            yield Missing(eye, way)
        return
    row = _row(lenses, standard, way, mounted=mounted)
    if row is not None:
        tolerance = row.allowed_prism_pd(_weaker_d(lenses, way))
        yield judged(eye, way, row, ordered=wanted, found=found, tolerance=tolerance)


def _pds(lenses: Sequence[Lens], standard: ToleranceSet) -> Iterator[VerdictItem | Missing]:
    """The PD of each progressive; of a single vision or multifocal pair, that of both lenses together."""
    if not all(ordered.is_mounted for ordered, _ in lenses):
        return
    for ordered, found in lenses:
        row = standard.row("pd", ordered.lens_class)
        if row is not None and ordered.pd_mm is not None:
            yield from _length(ordered.eye, "pd", row, ordered.pd_mm, found.pd_mm, row.value)
    if any(standard.row("pd", ordered.lens_class) for ordered, _ in lenses) or not _is_pair(lenses):
        return
    wanted, read = [o.pd_mm for o, _ in lenses], [f.pd_mm for _, f in lenses]
    if None in wanted:
        return
    if None in read:
        if any(found.prism_in is None for _, found in lenses):
            yield Missing("both", "pd")
        return
    yield from _shift(lenses, standard, "pd", "prism_horizontal", _sum(wanted), _sum(read))


def _heights(lenses: Sequence[Lens], standard: ToleranceSet) -> Iterator[VerdictItem | Missing]:
    """Each segment and fitting cross, and both against each other; of single vision only the latter."""
    if not all(ordered.is_mounted for ordered, _ in lenses):
        return
    for ordered, found in lenses:
        row = standard.row("height", ordered.lens_class)
        if row is not None and ordered.height_mm is not None:
            yield from _length(ordered.eye, "height", row, ordered.height_mm, found.height_mm, row.value)
    if not _is_pair(lenses):
        return
    wanted, read = [o.height_mm for o, _ in lenses], [f.height_mm for _, f in lenses]
    if None in wanted or None in read:
        return
    apart, found_apart = _difference(wanted), _difference(read)
    rows = (standard.row("heights_pair", ordered.lens_class) for ordered, _ in lenses)
    row = min((row for row in rows if row is not None), key=lambda row: row.value, default=None)
    if row is not None:
        yield judged("both", "heights_pair", row, ordered=apart, found=found_apart, tolerance=row.value)
    else:
        yield from _shift(lenses, standard, "heights_pair", "prism_vertical", apart, found_apart)


def _shift(
    lenses: Sequence[Lens], standard: ToleranceSet, quantity: Quantity, way: Way, wanted: float, found: float
) -> Iterator[VerdictItem]:
    """A length held to the limit of the prism that it brings; lenses without power bring none."""
    row = _row(lenses, standard, way, mounted=True)
    if row is None:
        return
    weaker, stronger = _weaker_d(lenses, way), _stronger_d(lenses, way)
    power = weaker if row.is_a_shift else stronger
    if power < WEAKEST_D:
        return
    tolerance = row.allowed_prism_pd(weaker) * 10.0 / power
    yield judged("both", quantity, row, ordered=wanted, found=found, tolerance=tolerance)


def _length(
    eye: PairEye, quantity: Quantity, row: ToleranceRow, wanted: float, found: float | None, tolerance: float
) -> Iterator[VerdictItem | Missing]:
    if found is None:
        yield Missing(eye, quantity)
    else:
        yield judged(eye, quantity, row, ordered=wanted, found=found, tolerance=tolerance)


def _row(lenses: Sequence[Lens], standard: ToleranceSet, way: Way, *, mounted: bool) -> ToleranceRow | None:
    """The limit of the prism of these lenses: by the weaker one, and by the larger prism that is prescribed."""
    power = _weaker_d(lenses, way)
    prism = max(abs(_of(ordered, way)) for ordered, _ in lenses)
    quantity: Judged = way
    rows = (
        standard.row(quantity, ordered.lens_class, mounted=mounted, power=power, prism=prism) for ordered, _ in lenses
    )
    # Both lenses of a mixed pair have to meet it, and one limit may be a prism where the other is a shift.
    known = (row for row in rows if row is not None)
    return min(known, key=lambda row: row.allowed_prism_pd(power), default=None)


def _is_pair(lenses: Sequence[Lens]) -> bool:
    return len(lenses) == 2 and all(ordered.is_mounted for ordered, _ in lenses)


def _of(ordered: OrderedEye, way: Way) -> float:
    return ordered.prism.in_pd if way == "prism_horizontal" else ordered.prism.up_pd


def _read(found: FoundEye, way: Way) -> float | None:
    return found.prism_in if way == "prism_horizontal" else found.prism_up


def _bracketed(pair: PairReadings | None, way: Way) -> float | None:
    """What was read of the pair as a whole: base in of both together, and base up of the right over the left."""
    if pair is None:
        return None
    return pair.bracketed_prism_h if way == "prism_horizontal" else pair.bracketed_prism_v


def _weaker_d(lenses: Sequence[Lens], way: Way) -> float:
    return min(ordered.along(ALONG[way]) for ordered, _ in lenses)


def _stronger_d(lenses: Sequence[Lens], way: Way) -> float:
    return max(ordered.along(ALONG[way]) for ordered, _ in lenses)


def _sum(values: Sequence[float | None]) -> float:
    return sum(value for value in values if value is not None)


def _difference(values: Sequence[float | None]) -> float:
    """Right less left."""
    right, left = (value or 0.0 for value in values)
    return right - left
