"""The limits of a standard for finished pairs as its page shows them: by quantity, with what a practice set lower."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from dispensing.models import PracticeRule
from dispensing.trade.tolerances import Judged, ToleranceRow, ToleranceSet, tolerance_set

TITLES: dict[Judged, str] = {
    "meridian": "Power along the principal meridians",
    "cylinder": "Cylinder",
    "axis": "Axis",
    "add": "Add",
    "prism_horizontal": "Horizontal prism and PD",
    "prism_vertical": "Vertical prism and heights of single vision",
    "height": "Heights",
    "heights_pair": "Heights against each other",
    "pd": "PD",
    "centre_thickness": "Centre thickness",
    "base_curve": "Base curve",
}


@dataclass(frozen=True)
class RowShown:
    """One limit. own: what this practice decided about it, if anything that counts."""

    row: ToleranceRow
    own: PracticeRule | None


@dataclass(frozen=True)
class Group:
    title: str
    rows: Sequence[RowShown]


def standard_title(standard: str) -> str:
    """The name of a standard as people say it."""
    return tolerance_set(standard).title


def groups_of(limits: ToleranceSet, decided: Mapping[tuple[str, str], PracticeRule]) -> list[Group]:
    """The limits in force by quantity, in the order of :data:`TITLES`."""
    order = list(TITLES)
    rows = sorted(limits.rows, key=lambda row: order.index(row.quantity))
    return [
        Group(TITLES[quantity], [RowShown(row, _own(row, limits, decided)) for row in group])
        for quantity, group in groupby(rows, key=lambda row: row.quantity)
    ]


def _own(
    row: ToleranceRow, limits: ToleranceSet, decided: Mapping[tuple[str, str], PracticeRule]
) -> PracticeRule | None:
    return decided.get((limits.id, row.limit.name)) if row.is_own else None
