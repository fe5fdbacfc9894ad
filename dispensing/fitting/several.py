"""Several photos of one wearer in one frame, each measured with the help of the others.

A front photo is measured with a side photo beside it, whose vertex distance says where the eye turns. A side photo
that helps two front photos still states its own figures only once, so that putting the results together does not
count it twice. It must never know who took the photos.
"""

from __future__ import annotations

from collections.abc import Sequence

from dispensing.fitting.documents import EyeFitting, Fitting, FittingPoints
from dispensing.fitting.measure import measure

OF_THE_SIDE_PHOTO = ("pantoscopic_deg", "vertex_mm")


def measure_several(fronts: Sequence[FittingPoints], sides: Sequence[FittingPoints]) -> tuple[Fitting, ...]:
    """One fitting for each front photo, in their order, then one for each side photo that no front photo took along.

    ``fronts`` hold a front photo each, ``sides`` a side photo each. Spreads and near distance are the front photo's.
    """
    measured = [_front_with_side(front, sides, index) for index, front in enumerate(fronts)]
    return (*measured, *(measure(side) for side in sides[len(fronts) :]))


def with_side(front: FittingPoints, side: FittingPoints | None) -> FittingPoints:
    """The marks of a front photo, with those of a side photo beside them."""
    return front if side is None else front.model_copy(update={"side": side.side})


def _front_with_side(front: FittingPoints, sides: Sequence[FittingPoints], index: int) -> Fitting:
    if not sides:
        return measure(front)
    if index < len(sides):
        return measure(with_side(front, sides[index]))
    return _without_the_side_s_figures(measure(with_side(front, sides[0])))


def _without_the_side_s_figures(fitting: Fitting) -> Fitting:
    def eye(figures: EyeFitting) -> EyeFitting:
        return figures.model_copy(update={"vertex_mm": None})

    kept = {"right": eye(fitting.right), "left": eye(fitting.left), "pantoscopic_deg": None}
    shares = {name: parts for name, parts in fitting.shares.items() if name not in OF_THE_SIDE_PHOTO}
    return fitting.model_copy(update={**kept, "shares": shares})
