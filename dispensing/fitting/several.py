"""Photos of one wearer in one frame: each is measured with the help of the others, and all become one fitting.

A front photo is measured together with a side photo, whose vertex distance says where the eye turns. A side photo that
helps two front photos still states its own figures only once, so that they do not count twice. The pages, the API and
the command all start here; a single document is measured as it says. It must never know who took the photos.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from dispensing.fitting.combine import combine
from dispensing.fitting.documents import EyeFitting, Fitting, FittingPoints, Unlikely
from dispensing.fitting.measure import measure
from dispensing.fitting.retake import TO_CHECK, TO_MARK, TURNED
from dispensing.trade.limits import TRADE, Limits

OF_THE_SIDE_PHOTO = ("pantoscopic_deg", "vertex_mm")


@dataclass(frozen=True)
class Together:
    """Photos that are measured together. ``numbers``: those of the photos it is about, as a page counts them.

    ``lent_side``: the side photo only helps here; its own figures are stated elsewhere.
    """

    numbers: tuple[int, ...]
    points: FittingPoints
    lent_side: bool = False

    @property
    def name(self) -> str:
        """``Photo 2`` or ``Photos 1 and 3``."""
        return f"Photo{'s' if len(self.numbers) > 1 else ''} {' and '.join(map(str, self.numbers))}"


@dataclass(frozen=True)
class Doubted:
    """Unlikely figures from one photo, or from a front photo with its side photo.

    ``whose``: ``Photo 2``, as a page counts them; empty where there is only one result.
    """

    whose: str
    unlikely: tuple[Unlikely, ...]


@dataclass(frozen=True)
class SheetMeasured:
    """``fitting``: the best of all photos; its ``retake`` says which photo each reason is about, and what disagrees.

    ``readings``: of each figure that was read in more than one posture (``right.pd_mm``), what every posture makes of
    it; a burst in one posture is one reading.
    """

    fitting: Fitting
    doubted: tuple[Doubted, ...]
    readings: Mapping[str, tuple[float, ...]] = field(default_factory=dict)


def measure_sheet(documents: Sequence[FittingPoints], limits: Limits = TRADE) -> SheetMeasured:
    """What these documents measure together, each taken as it says. Raises ValueError without any."""
    return measure_groups(put_together(documents, range(1, len(documents) + 1)), limits)


def put_together(documents: Sequence[FittingPoints], numbers: Sequence[int]) -> tuple[Together, ...]:
    """One group for each document with a front photo, in their order, then one for each side photo left over.

    A front photo without a side photo of its own takes the next one; when none is left, it uses the first. Spreads and
    near distance, and the posture's word, are the front photo's. ``numbers``: what each document is called.
    """
    fronts = [(number, one) for number, one in zip(numbers, documents, strict=True) if one.front is not None]
    sides = [(number, one) for number, one in zip(numbers, documents, strict=True) if one.front is None]
    lent, left, groups = sides[:1], list(sides), []
    for number, front in fronts:
        if front.side is not None or not lent:
            groups.append(Together((number,), front))
        elif left:
            side_number, side = left.pop(0)
            groups.append(Together((number, side_number), _with_side(front, side)))
        else:
            groups.append(Together((number,), _with_side(front, lent[0][1]), lent_side=True))
    return (*groups, *(Together((number,), side) for number, side in left))


def measure_groups(groups: Sequence[Together], limits: Limits = TRADE) -> SheetMeasured:
    """What the groups measure together; if there is only one, everything it measures. Raises ValueError without any.

    ``limits``: those in force in the practice, which decide whether a figure is unlikely.
    """
    if not groups:
        raise ValueError("Nothing is marked, so nothing can be measured.")
    results = [_measured(group, limits) for group in groups]
    names = [group.name if len(groups) > 1 else "" for group in groups]
    doubted = tuple(_doubted(results, names))
    if len(results) == 1:
        return SheetMeasured(results[0], doubted)
    combined = combine(results, [group.points.posture for group in groups], names)
    told = _told(results, names, combined.disagreements)
    return SheetMeasured(combined.fitting.model_copy(update=told), doubted, combined.readings)


def _with_side(front: FittingPoints, side: FittingPoints) -> FittingPoints:
    return front.model_copy(update={"side": side.side})


def _measured(group: Together, limits: Limits) -> Fitting:
    fitting = measure(group.points, limits)
    return _without_the_side_s_figures(fitting) if group.lent_side else fitting


def _without_the_side_s_figures(fitting: Fitting) -> Fitting:
    def eye(figures: EyeFitting) -> EyeFitting:
        return figures.model_copy(update={"vertex_mm": None})

    kept = {"right": eye(fitting.right), "left": eye(fitting.left), "pantoscopic_deg": None}
    shares = {name: parts for name, parts in fitting.shares.items() if name not in OF_THE_SIDE_PHOTO}
    return fitting.model_copy(update={**kept, "shares": shares})


def _told(results: Sequence[Fitting], names: Sequence[str], disagreements: Sequence[str]) -> dict[str, Any]:
    """``retake`` and ``extra`` of all photos together. How wide a ± is, is said of one photo and not of all."""
    extra = {
        TO_MARK: [*_each_once([one.told(TO_MARK) for one in results], names)],
        TO_CHECK: [*_each_once([one.told(TO_CHECK) for one in results], names), *disagreements],
        TURNED: [*_each_once([one.told(TURNED) for one in results], names)],
    }
    reasons = (*_each_once([one.retake for one in results], names), *disagreements)
    return {"retake": reasons, "extra": {kind: texts for kind, texts in extra.items() if texts} or None}


def _each_once(reasons: Sequence[Sequence[str]], names: Sequence[str]) -> Iterator[str]:
    """Each reason once, with the photos it applies to; a reason that applies to all of them names none."""
    whose: dict[str, list[str]] = {}
    for of_photo, name in zip(reasons, names, strict=True):
        for reason in of_photo:
            whose.setdefault(reason, []).append(name)
    for reason, of in whose.items():
        yield reason if len(of) == len(reasons) else f"{', '.join(of)}: {reason}"


def _doubted(results: Sequence[Fitting], names: Sequence[str]) -> Iterator[Doubted]:
    told: set[str] = set()
    for result, name in zip(results, names, strict=True):
        # A side photo that helps several front photos is doubted once.
        unlikely = tuple(one for one in result.unlikely if one.message not in told)
        told |= {one.message for one in unlikely}
        if unlikely:
            yield Doubted(name, unlikely)
