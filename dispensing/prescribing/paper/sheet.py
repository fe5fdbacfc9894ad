"""A page row by row: which figure belongs to which eye, field and prescription. Tables either way, and plain lines.

State is carried down the page as a reader carries it: the headings of the table, the eye that a block is about, the
distance that a box is for. Must never judge a figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from dispensing.optics.conventions import EYES, Eye
from dispensing.prescribing.paper.columns import Cell, Column, assigned, cells_of, columns_of, heading, is_strong, suits
from dispensing.prescribing.paper.lines import LineOfFigures, is_value
from dispensing.prescribing.paper.pieces import WIDE_GAP, Piece, Row

TABLE_ENDS = 9.0
"""Heights of a row without figures after which headings hold no longer."""
ALONE = ("pd", "near_pd", "vertex", "add", "intermediate_add", "near_acuity")
"""What may stand in a line without an eye."""
FOR_BOTH = ("add", "intermediate_add")
EYE_NOT_READ = "Which eye this line is of cannot be read; it stands by the other eye's."
NO_EYE_NAMED = "No eye is named on the paper: the first line was read as right, the second as left."

Section = str
Key = tuple[Section, Eye | None, str]


@dataclass(frozen=True, slots=True)
class Found:
    """The pieces of one field. ``eye`` None: it is of both, or of none. ``unsure``: why a person has to look."""

    section: Section
    eye: Eye | None
    field: str
    pieces: Cell
    unsure: str = ""


@dataclass
class Written:
    """One prescription on the page: what was found of it, and whether the paper calls it an old one."""

    old: bool = False
    found: dict[Key, Found] = field(default_factory=dict)

    def of(self, section: Section, eye: Eye | None, name: str) -> Found | None:
        return self.found.get((section, eye, name))


@dataclass
class Sheet:
    """Takes the rows of a page in, from top to bottom; ``left``: figures that belong nowhere."""

    written: list[Written] = field(default_factory=lambda: [Written()])
    left: list[Piece] = field(default_factory=list)
    columns: tuple[Column, ...] = ()
    eyes: tuple[Piece, ...] = ()
    sections: tuple[Piece, ...] = ()
    eye: Eye | None = None
    section: Section = ""
    _last_y: float = 0.0
    _unnamed: int = 0

    def take(self, rows: Sequence[Row]) -> Sheet:
        spanning = _spanning_sections(rows)
        for number, row in enumerate(rows):
            self._row(row, spanning.get(number, ""))
        return self

    def _row(self, row: Row, spanning: Section) -> None:
        top, height = row[0].laid[1], max(piece.laid[3] for piece in row)
        if self.columns and top - self._last_y > TABLE_ENDS * height:
            self.columns, self.eyes, self.sections = (), (), ()
        fact = next((place for place, piece in enumerate(row) if piece.can_be("fact")), None)
        if fact is not None:
            self._facts(row, fact)
            return
        row = _once(row)
        eyes = [place for place in range(len(row)) if _is_eye(row, place)]
        headings = [piece for piece in row if heading(piece)]
        values = [piece for piece in row if is_value(piece)]
        if len(headings) >= 2 and _is_row_of_headings(headings, values):
            self._headings(row, eyes)
        elif not values and not self._is_a_row_of_bases(row):
            self._titles(row, eyes, headings)
            return
        else:
            self._figures(row, eyes, spanning)
        self._last_y = top

    def _is_a_row_of_bases(self, row: Row) -> bool:
        """Bases in words below the prisms of two eyes side by side."""
        return len(self.eyes) > 1 and heading(row[0]) == "base" and any(piece.can_be("base") for piece in row[1:])

    def _facts(self, row: Row, fact: int) -> None:
        """A line about dates or people: of figures it may hold what is named, the PD or the vertex distance."""
        line = LineOfFigures(row if fact else row[1:]).read()
        for name, cell in line.found:
            if name in ALONE and name != "near_acuity":
                self._put(self.section, None, name, cell)

    def _headings(self, row: Row, eyes: list[int]) -> None:
        named = [row[place] for place in eyes]
        over = named if len(named) > 1 else list(self.eyes)
        sections = [piece for place, piece in enumerate(row) if _is_section(row, place)]
        self.columns = columns_of(row, over, sections if len(sections) > 1 else self.sections)
        self._unnamed = 0
        if len(named) == 1:
            self._one_eye(named[0])
        elif not any(column.eye for column in self.columns) and len(named) > 1:
            self.eyes = tuple(named)
        if len(sections) == 1:
            self._new_section(sections[0])

    def _titles(self, row: Row, eyes: list[int], headings: list[Piece]) -> None:
        """A row without figures: it may say whose eye, which distance or which prescription follows."""
        named = [row[place] for place in eyes]
        if {piece.can_be("eye") for piece in named} >= set(EYES):
            self.eyes, self.eye = tuple(named), None
        elif len(named) == 1:
            self._one_eye(named[0])
        elif len(headings) == 1 and not self.columns:
            return
        sections = [piece for place, piece in enumerate(row) if _is_section(row, place)]
        if len(sections) > 1:
            self.sections = tuple(sections)
        elif sections:
            self._new_section(sections[0])

    def _one_eye(self, piece: Piece) -> None:
        name = piece.can_be("eye")
        self.eye = "right" if name == "right" else "left" if name == "left" else None

    def _new_section(self, piece: Piece) -> None:
        name = piece.can_be("section")
        if name in ("old", "new"):
            self._start(old=name == "old")
            self.section = ""
        else:
            self.section = name

    def _start(self, old: bool) -> None:
        if self.written[-1].found:
            self.written.append(Written(old))
        else:
            self.written[-1].old = old

    def _figures(self, row: Row, eyes: list[int], spanning: Section) -> None:
        before = self.section
        for place, piece in enumerate(row):
            if _is_section(row, place):
                self._new_section(piece)
                row = row[:place] + row[place + 1 :]
                eyes = [eye - (eye > place) for eye in eyes]
                break
        section = self.section = spanning or self.section
        if not row:
            return
        if not eyes:
            self._without_eye(row, section)
        else:
            self._with_eyes(row, eyes, section)
        if section != before and not spanning and eyes == [] and not any(column.eye for column in self.columns):
            self.section = section

    def _without_eye(self, row: Row, section: Section) -> None:
        first = heading(row[0])
        if len(self.eyes) > 1 and first and sum(heading(piece) == first for piece in row) > 1:
            self._halves(row, section)
        elif first and (middles := self._middles()):
            self._across(row, first, section, middles)
        elif any(column.eye for column in self.columns) and not first:
            self._by_columns(row, None, section)
        elif any(map(is_strong, row)):
            self._line(row, self.eye, section)
        elif self.columns:
            self._by_columns(row, self.eye, section)
        elif self.eye:
            self._line(row, self.eye, section)
        elif len(self.eyes) > 1:
            self._halves(row, section)
        else:
            self.left += [piece for piece in row if piece.is_figure]

    def _halves(self, row: Row, section: Section) -> None:
        """Two eyes side by side, each with its own words before its figures."""
        one, other = sorted(self.eyes[:2], key=lambda eye: eye.laid[0])
        border = other.laid[0] - 2 * other.laid[3]
        for eye, part in (
            (one, [piece for piece in row if piece.laid[0] < border]),
            (other, [piece for piece in row if piece.laid[0] >= border]),
        ):
            self._line(part, "right" if eye.can_be("eye") == "right" else "left", section)

    def _middles(self) -> list[tuple[float, Eye]]:
        """Where the middle of each eye's part of the page is, if they stand side by side."""
        found: list[tuple[float, Eye]] = []
        for eye in EYES:
            places = [column.centre for column in self.columns if column.eye == eye]
            places = places or [piece.centre for piece in self.eyes if piece.can_be("eye") == eye]
            found += [(sum(places) / len(places), eye)] if places else []
        return found if len(found) == len(EYES) else []

    def _across(self, row: Row, name: str, section: Section, middles: list[tuple[float, Eye]]) -> None:
        """Eyes side by side and fields below each other."""
        for cell in cells_of(row[1:]):
            if any(is_value(piece) or piece.can_be("base") or piece.can_be("word") for piece in cell):
                centre = (cell[0].laid[0] + cell[-1].laid[0] + cell[-1].laid[2]) / 2
                off = sorted((abs(middle - centre), eye) for middle, eye in middles)
                between = name in FOR_BOTH and off[1][0] < 2 * off[0][0]
                self._put(section, None if between else off[0][1], name, cell)

    def _with_eyes(self, row: Row, eyes: list[int], section: Section) -> None:
        lead = row[: eyes[0]]
        carried = next((heading(piece) for piece in reversed(lead) if heading(piece)), "")
        if any(is_value(piece) for piece in lead):
            self._line(lead, None, section)
            carried = heading(lead[-1])
        ends = [*eyes[1:], len(row)]
        for place, end in zip(eyes, ends):
            which = row[place].can_be("eye")
            eye: Eye | None = "right" if which == "right" else "left" if which == "left" else None
            part = row[place + 1 : end]
            in_table = self.columns and not carried and not any(map(is_strong, part)) and len(eyes) == 1
            if in_table and part:
                self._by_columns(part, eye, section)
            elif part:
                self._line(part, eye, section, carried)
            elif len(eyes) == 1:
                self._one_eye(row[place])

    def _line(self, pieces: Sequence[Piece], eye: Eye | None, section: Section, label: str = "") -> None:
        line = LineOfFigures(pieces, label).read()
        self.left += line.left
        for name, cell in line.found:
            if eye is not None or name in ALONE:
                self._put(section, eye, name, cell)
            else:
                self.left += [piece for piece in cell if piece.is_figure]

    def _by_columns(self, pieces: Sequence[Piece], eye: Eye | None, section: Section) -> None:
        cells = [cell for cell in cells_of(pieces) if any(piece.kind != "mark" for piece in cell)]
        unsure = ""
        if eye is None and not any(column.eye for column in self.columns):
            if len(cells) < 2 or self._unnamed > 1 or not any(map(_holds_a_power, cells)):
                self.left += [piece for cell in cells for piece in cell if piece.is_figure]
                return
            eye, unsure = self._eye_of_a_line_without_one(section)
            self._unnamed += 1
        for cell, column in zip(cells, assigned(cells, self.columns, suits)):
            if column is not None:
                said = next((heading(piece) for piece in cell if is_strong(piece) and piece.can_be("word") == ""), "")
                why = unsure or (NO_EYE_NAMED if column.guessed else "")
                self._put(column.section or section, column.eye or eye, said or column.field, cell, why)
            else:
                self.left += [piece for piece in cell if piece.is_figure]

    def _eye_of_a_line_without_one(self, section: Section) -> tuple[Eye, str]:
        """Right above left; or the other eye, where the one of the line above could be read."""
        taken = [eye for eye in EYES if self._unnamed == 0 and self.written[-1].of(section, eye, "sphere")]
        if len(taken) == 1:
            return ("left" if taken[0] == "right" else "right"), EYE_NOT_READ
        return EYES[self._unnamed], NO_EYE_NAMED

    def _put(self, section: Section, eye: Eye | None, name: str, cell: Cell, unsure: str = "") -> None:
        key = (section, eye, name)
        if key in self.written[-1].found:
            if name == "sphere" and _holds_a_power(cell):
                self.written.append(Written())
            elif name in ("prism", "base"):
                key = (section, eye, f"{name}_again")
            else:
                self.left += [piece for piece in cell if piece.is_figure]
                return
        self.written[-1].found[key] = Found(section, eye, key[2], cell, unsure)


def _holds_a_power(cell: Cell) -> bool:
    """Whether it says how strong a lens is, as no house number and no distance in whole millimetres does."""
    return any(
        piece.can_be("word") == "plano" or (piece.is_figure and any(c in piece.text for c in "+-.,·")) for piece in cell
    )


def balances(rows: Sequence[Row]) -> dict[Eye, Piece]:
    """The word for a balance lens, by the eye that is named before it on its row; without one it says nothing."""
    found: dict[Eye, Piece] = {}
    for row in rows:
        eye = ""
        for place, piece in enumerate(row):
            if _is_eye(row, place):
                eye = piece.can_be("eye")
            elif piece.can_be("word") == "balance" and eye in EYES:
                found.setdefault("right" if eye == "right" else "left", piece)
    return found


def _once(row: Row) -> Row:
    """The row with an eye that is named twice running, as in R (OD), named once."""
    kept: list[Piece] = []
    for piece in row:
        last = next((one for one in reversed(kept) if one.kind != "mark"), None)
        if last is not None and piece.can_be("eye") and piece.can_be("eye") == last.can_be("eye"):
            continue
        kept.append(piece)
    return tuple(kept)


def _is_row_of_headings(headings: Sequence[Piece], values: Sequence[Piece]) -> bool:
    powers = [piece for piece in values if any(c in piece.text for c in ".,/")]
    return not powers and len(values) <= len(headings) // 2


def _is_eye(row: Row, place: int) -> bool:
    """Whether an eye is named here, and it is no short word of a sentence that looks like it."""
    return bool(row[place].can_be("eye")) and _stands_out(row, place)


def _is_section(row: Row, place: int) -> bool:
    return bool(row[place].can_be("section")) and not heading(row[place]) and _stands_out(row, place)


def _stands_out(row: Row, place: int) -> bool:
    piece = row[place]
    before = row[place - 1] if place else None
    after = row[place + 1] if place + 1 < len(row) else None
    starts = before is None or piece.follows > WIDE_GAP or bool(before.means) or before.kind != "word"
    ends = after is None or after.follows > WIDE_GAP or bool(after.means) or after.kind != "word"
    return starts and ends


def _spanning_sections(rows: Sequence[Row]) -> dict[int, Section]:
    """Rows beside a tall cell that names a distance for both eyes: its word stands between the two rows."""
    found: dict[int, Section] = {}
    for number in range(1, len(rows) - 1):
        row = rows[number]
        if len(row) > 1 or not _is_section(row, 0) or row[0].can_be("section") in ("old", "new"):
            continue
        above, below = (_follows(rows[other], row[0]) for other in (number - 1, number + 1))
        gap_above = row[0].laid[1] - rows[number - 1][0].laid[1]
        gap_below = rows[number + 1][0].laid[1] - row[0].laid[1]
        if above and below and max(gap_above, gap_below) < 2 * min(gap_above, gap_below):
            found[number - 1] = found[number + 1] = row[0].can_be("section")
    return found


def _follows(row: Row, section: Piece) -> bool:
    """Whether a row of figures stands to the right of a word."""
    return row[0].laid[0] > section.laid[0] + section.laid[2] and any(map(is_value, row))
