"""The trade's list of order rules beside ours: which rule decides each, and where ours asks less, why.

``python -m orders.rules.trade_list`` prints the table that stands in DEVELOPERS.md. The list is numbered as it was
first written down; must: an order that breaks it cannot be made or may not be supplied; should: a person confirms.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import orders.rules.families  # noqa: F401  registers every rule
from orders.rules.registry import Rule, all_rules
from orders.rules.undecidable import UNDECIDABLE

Weight = Literal["must", "should"]


@dataclass(frozen=True, slots=True)
class Written:
    """One rule of the list. ``less``: what of it ours leaves out or asks more mildly, and why; mostly empty."""

    number: int
    weight: Weight
    less: str = ""


NO_KEY = "the order has no key for it"

_LESS: dict[int, str] = {
    2: "Whether it is signed, and the address, are asked only of prescriptions that the record knows to be from "
    "outside: an order by itself need not say.",
    15: "Asks and stops by the worn and the tested distance; which of the two the lab is to use is the order's basis.",
    24: "Asks, for an intermediate add may be meant; a near sphere typed as the add has no field of its own and stands "
    "out by range, age and the last prescription.",
    27: "Judges the prescribed prism; what decentration adds shows in thickness and edges.",
    49: "Sizes against the size stamped on the frame: the frame's name is free text.",
    50: "Only the right lens is traced, and the left is its mirror image.",
    58: "Where the lower lid is, the order does not say; the height usual in the frame is asked about.",
    59: "Where the pupil's lower edge is, the order does not say; the reading part that is left is asked about.",
    60: f"Room distance: {NO_KEY}; the near distance, height and use are asked about.",
    73: "What the wearer does is known from remarks and record only; marks on frame and lens are seen, not ordered.",
    77: f"Base curve of the last pair: {NO_KEY}.",
    79: "The lab may make it: asks, as the list has it.",
    95: "The catalogue has no spectrum: the colour in the tint's name is asked about, and only for drivers.",
    99: "A note, because many wearers have sun lenses without it and no harm comes of it.",
    106: "Falls are heard in remarks and at an age; the order has no history of them.",
    107: "Bevel and groove are the lab's choice unless a remark says otherwise; a trace is required where it is all.",
    114: f"Return of the first lenses: {NO_KEY}.",
}

_MUST = frozenset(
    {1, 2, 3, 4, 5, 8, 9, 10, 11, 12, 15, 20, 21, 24, 25, 30, 31, 32, 35, 36, 37, 40, 45, 47, 48, 49, 52, 53, 54, 55}
    | {60, 64, 68, 69, 70, 73, 75, 78, 80, 81, 82, 84, 85, 90, 95, 97, 101, 102, 104, 105, 107, 108, 109, 114, 115, 117}
)
"""Without those of which the list itself says that a person confirms, advises, recommends or asks the lab."""

HOW_MANY = 117

WRITTEN: tuple[Written, ...] = tuple(
    Written(number, "must" if number in _MUST else "should", _LESS.get(number, "")) for number in range(1, HOW_MANY + 1)
)


def deciding(number: int) -> list[Rule]:
    """Our rules with this number, in the order of their ids."""
    return sorted((rule for rule in all_rules() if rule.number == number), key=lambda rule: rule.id)


def left_out(rule: Rule) -> str:
    """What the rule with that number leaves out or asks more mildly than the list; mostly empty."""
    return next((row.less for row in WRITTEN if row.number == rule.number), "")


def lines() -> Iterator[str]:
    """The table, a line a rule of the list."""
    yield "| No. | Written | Decided by, with its levels, or why not |"
    yield "|---|---|---|"
    for row in WRITTEN:
        yield f"| {row.number} | {row.weight} | {_decided(row)} |"


def _decided(row: Written) -> str:
    without = next((entry for entry in UNDECIDABLE if entry.number == row.number), None)
    if without is not None:
        covered = f" See `{without.covered_by}`." if without.covered_by else ""
        return f"*{without.title}.* {without.reason}{covered}"
    return "; ".join(map(_named, deciding(row.number))) + (f". {row.less}" if row.less else "")


def _named(rule: Rule) -> str:
    return f"`{rule.id}` {', '.join(rule.levels)}"


if __name__ == "__main__":
    print("\n".join(lines()))
