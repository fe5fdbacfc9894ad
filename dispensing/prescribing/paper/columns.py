"""Headings over figures: which column of a table each cell of a row belongs to.

Columns and cells are matched from left to right without crossing, so that a table that is a little askew still lines
up, and a cell whose figure cannot be what its nearest heading says is rather left out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

from dispensing.optics.conventions import EYES, Eye
from dispensing.prescribing.paper.pieces import Piece, Row

CELL_GAP = 0.95
"""Of the height: from this gap on figures stand in different cells."""
TOUCHING = 0.2
"""Of the height: two figures further apart are two, however close their columns."""
LEAVING_OUT = 0.75
"""What it costs to give a cell no column, in widths of a column."""
UNSUITED = 0.6

_WITH_SIGN = re.compile(r"[+-]\d*[.,·]\d")
"""A power that begins anew, though the gap before it was not seen: +1.50-0.75."""

REPEATED = ("sphere", "cylinder", "axis")
Cell = tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A heading with its place. ``eye``: whose, where the heading stands for one eye alone; ``guessed``: by its place
    alone. ``section``: the distance that it stands for alone.
    """

    field: str
    left: float
    right: float
    eye: Eye | None = None
    section: str = ""
    guessed: bool = False

    @property
    def centre(self) -> float:
        return (self.left + self.right) / 2


def columns_of(row: Row, eyes: Sequence[Piece] = (), sections: Sequence[Piece] = ()) -> tuple[Column, ...]:
    """The columns that a row of headings opens; ``eyes``, ``sections``: what names its halves, above it or in it."""
    found = [
        Column(name, piece.laid[0], piece.laid[0] + piece.laid[2])
        for piece in row
        if (name := heading(piece))
    ]  # fmt: skip
    return _split_prisms(_for_each_half(tuple(found), eyes, sections))


def heading(piece: Piece) -> str:
    """The field that a heading names, if it is one; a section or base word over a column counts as none."""
    return piece.can_be("field") if piece.kind == "word" else ""


def is_strong(piece: Piece) -> bool:
    """Whether it names a field by more than a letter or a cross, which may belong to the figure beside it."""
    return bool(heading(piece)) and len(piece.text.strip(".:")) > 1


def _for_each_half(columns: tuple[Column, ...], eyes: Sequence[Piece], sections: Sequence[Piece]) -> tuple[Column, ...]:
    """A table with the same columns twice: the right eye's beside the left eye's, or those for far beside near."""
    names = [column.field for column in columns]
    repeated = [name for name in REPEATED if names.count(name) == 2]
    if not repeated:
        return columns
    turn = [place for place, name in enumerate(names) if name == names[0]][-1]
    if names[0] not in REPEATED or names.count(names[0]) != 2:
        turn = [place for place, name in enumerate(names) if name == repeated[0]][-1]
    if len(sections) == 2 and not eyes:
        names = [piece.can_be("section") for piece in sorted(sections, key=lambda piece: piece.centre)]
        return tuple(replace(column, section=names[place >= turn]) for place, column in enumerate(columns))
    order = tuple(piece.can_be("eye") for piece in sorted(eyes, key=lambda piece: piece.centre))
    first, second = reversed(EYES) if order[:2] == ("left", "right") else EYES
    return tuple(
        replace(column, eye=first if place < turn else second, guessed=not order)
        for place, column in enumerate(columns)
    )


def _split_prisms(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Prism and base twice an eye: the first pair and the second stay apart."""
    seen: dict[tuple[str, Eye | None, str], int] = {}
    split = []
    for column in columns:
        key = (column.field, column.eye, column.section)
        seen[key] = seen.get(key, 0) + 1
        again = column.field in ("prism", "base") and seen[key] > 1
        split.append(replace(column, field=f"{column.field}_again") if again else column)
    return tuple(split)


def cells_of(pieces: Sequence[Piece]) -> list[Cell]:
    """The pieces of a row in cells: neighbours without a gap belong together."""
    cells: list[list[Piece]] = []
    for piece in pieces:
        if piece.kind == "mark" and piece.text in "|/:;[]":
            continue
        is_sign = bool(cells) and cells[-1][-1].text in ("+", "-") and piece.follows < 2 * CELL_GAP
        is_next = bool(cells) and piece.is_figure and cells[-1][-1].is_figure
        is_next = is_next and (piece.follows > TOUCHING or bool(_WITH_SIGN.match(piece.text)))
        if cells and not is_next and (piece.follows < CELL_GAP or is_sign):
            cells[-1].append(piece)
        else:
            cells.append([piece])
    return [tuple(cell) for cell in cells]


def assigned(
    cells: Sequence[Cell], columns: Sequence[Column], suits: Callable[[Cell, str], bool]
) -> list[Column | None]:
    """For each cell its column, or None: the cheapest way of matching both in order."""
    pitch = _pitch(columns)

    @cache
    def best(cell: int, column: int) -> tuple[float, tuple[int | None, ...]]:
        if cell == len(cells):
            return 0.0, ()
        cost, rest = best(cell + 1, column)
        options = [(cost + LEAVING_OUT, (None, *rest))]
        for place in range(column, len(columns)):
            price = _off(cells[cell], columns[place]) / pitch
            if not suits(cells[cell], columns[place].field):
                price += UNSUITED
            cost, rest = best(cell + 1, place + 1)
            options.append((cost + price, (place, *rest)))
        return min(options, key=lambda option: option[0])

    return [None if place is None else columns[place] for place in best(0, 0)[1]]


def _pitch(columns: Sequence[Column]) -> float:
    centres = sorted(column.centre for column in columns)
    steps = sorted(other - one for one, other in pairwise(centres))
    return max(steps[len(steps) // 2], 1.0) if steps else max(columns[0].right - columns[0].left, 1.0)


def _off(cell: Cell, column: Column) -> float:
    """How far a cell is from under its heading: by centres or by edges, for tables set either way."""
    left, right = cell[0].laid[0], cell[-1].laid[0] + cell[-1].laid[2]
    return min(abs((left + right) / 2 - column.centre), abs(left - column.left), abs(right - column.right))


_NOT_SIGNED = re.compile(r"[+-]")


def suits(cell: Cell, field: str) -> bool:
    """Whether a cell may hold this field at all: an axis is whole and unsigned, a power is no whole number over 30."""
    text = "".join(piece.text for piece in cell if piece.kind in ("figure", "fraction", "print"))
    is_whole = bool(re.fullmatch(r"\d{1,3}", text))
    if field == "axis":
        return is_whole
    if field in ("sphere", "cylinder"):
        return not is_whole or len(text) == 1 or text[-2:] in ("00", "25", "50", "75")
    if field in ("add", "intermediate_add", "prism", "prism_horizontal", "prism_vertical", "prism_again"):
        return not _NOT_SIGNED.match(text) or field.endswith("add")
    if field in ("acuity", "near_acuity", "unaided"):
        return not re.match(r"[+-]\d+[.,]\d\d", text)
    if field.startswith("base"):
        return not re.search(r"\d[.,]\d", text)
    return True
