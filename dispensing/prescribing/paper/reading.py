"""A page of words as one prescription read: ``read_paper`` is the way in, and its result knows its own doubts.

Where the page holds several prescriptions, the one that the paper calls new counts, else the first, and every figure of
it is marked. A near power stands for its add, worked out and marked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from dispensing.optics.conventions import EYES, Base, Eye
from dispensing.optics.notation import exact_eighth
from dispensing.prescribing.paper import figures
from dispensing.prescribing.paper.columns import Cell
from dispensing.prescribing.paper.facts import facts_of
from dispensing.prescribing.paper.pieces import Piece, Row, rows_of, text_of
from dispensing.prescribing.paper.sheet import Found, Section, Sheet, Written, balances
from dispensing.prescribing.paper.words import Box, Read, Word
from dispensing.trade import figure

NO_AXIS = "A cylinder stands here, but no axis that can be read."
FAR: tuple[Section, ...] = ("distance", "")
SEVERAL = "There is more than one prescription on the page."
SIGNS_DIFFER = "One eye is in plus cylinder, the other in minus."
ADDS_DIFFER = "The adds of the two eyes differ."
AXIS_SHORT = "The other axis has three figures; one may be missing here."
LONE_EIGHTH = "It is in eighths and the other powers in quarters."
LEAST_AROUND = 3
"""Powers on the paper from which on one among them can stand out."""
NO_CYLINDER = "An axis stands here, but no cylinder."
POWER_TOO = "A power stands beside it."
ADD_ONCE = "The add is written once and was read for both eyes."


@dataclass(frozen=True)
class EyeRead:
    """One eye; None for what is not on the paper. ``prism``: amount and base of each. ``balance``: a balance lens is
    prescribed (True).
    """

    sphere: Read | None = None
    cylinder: Read | None = None
    axis: Read | None = None
    add: Read | None = None
    intermediate_add: Read | None = None
    prism: tuple[tuple[Read, Read], ...] = ()
    acuity: Read | None = None
    balance: Read | None = None

    @property
    def is_empty(self) -> bool:
        return self == EyeRead()


@dataclass(frozen=True)
class Reading:
    """What a paper says. ``use``: near or intermediate if it is for that alone. ``unread``: figures without a place."""

    right: EyeRead = EyeRead()
    left: EyeRead = EyeRead()
    use: str = ""
    facts: dict[str, Read] = field(default_factory=dict)
    unread: tuple[tuple[str, Box, int], ...] = ()
    others: int = 0

    @property
    def is_empty(self) -> bool:
        return self.right.is_empty and self.left.is_empty


def read_paper(words: Iterable[Word], month_first: bool | None = None) -> Reading:
    """The prescription in these words, of one or more pages: the first page that holds one, with what the others add.

    ``month_first``: as for :func:`dispensing.dates.written_date`; None if it is not known where the paper is from.
    """
    pages: dict[int, list[Word]] = {}
    for word in words:
        pages.setdefault(word.page, []).append(word)
    read = [_page(rows_of(pages[number]), month_first) for number in sorted(pages)]
    if not read:
        return Reading()
    first = next((one for one in read if not one.is_empty), read[0])
    facts: dict[str, Read] = {}
    for one in (first, *read):
        facts = one.facts | facts
    others = first.others + sum(not one.is_empty for one in read if one is not first)
    unread = tuple(left for one in read for left in one.unread)
    whole = replace(first, facts=facts, others=others, unread=unread)
    return _marked(whole, SEVERAL) if others > first.others else whole


def _page(rows: list[Row], month_first: bool | None) -> Reading:
    sheet = Sheet().take(rows)
    chosen, others = _chosen([one for one in sheet.written if one.found])
    facts = facts_of(rows, month_first).found
    if chosen is None:
        return Reading(facts=facts, unread=_unread(sheet.left))
    use = _use(chosen)
    balanced = balances(rows)
    right, left = _checked(*(_with_balance(_eye(chosen, eye, use), balanced.get(eye)) for eye in EYES))
    reading = Reading(right, left, use, facts | _distances(chosen), _unread(sheet.left), others)
    return _marked(reading, SEVERAL) if others and not chosen.named else reading


@dataclass(frozen=True)
class _Chosen:
    """The prescription that counts; ``named``: the paper says so itself, by calling the others old."""

    found: Written
    named: bool

    def of(self, section: Section, eye: Eye | None, name: str) -> Found | None:
        return self.found.of(section, eye, name)


def _chosen(written: list[Written]) -> tuple[_Chosen | None, int]:
    powers = [one for one in written if any(name == "sphere" for _, _, name in one.found)]
    new = [one for one in powers if not one.old]
    if not written:
        return None, 0
    first = (new or powers or written)[0]
    merged = Written(first.old, dict(first.found))
    for other in written:
        if other not in powers:
            merged.found = other.found | merged.found
    return _Chosen(merged, named=len(new) == 1), max(len(powers) - 1, 0)


def _use(chosen: _Chosen) -> str:
    """What it is for, if the paper has no powers for far."""
    sections = {section for section, _, name in chosen.found.found if name == "sphere"}
    if sections & set(FAR) or not sections:
        return ""
    return "near" if "near" in sections else "intermediate"


def _eye(chosen: _Chosen, eye: Eye, use: str) -> EyeRead:
    def pieces(*names: str, sections: tuple[Section, ...] = (use,) if use else FAR) -> Found | None:
        every = (chosen.of(section, eye, name) for section in sections for name in names)
        return next((found for found in every if found is not None), None)

    sphere, cylinder = _apply(figures.sphere, pieces("sphere")), _apply(figures.cylinder, pieces("cylinder"))
    axis = _apply(figures.axis, pieces("axis"))
    if axis is not None and cylinder is None:
        axis = None if axis.value in (None, 180) else replace(axis, unsure=axis.unsure or NO_CYLINDER)
    if cylinder is not None and cylinder.value and (axis is None or axis.value is None):
        cylinder = replace(cylinder, unsure=cylinder.unsure or NO_AXIS)
    return EyeRead(
        sphere,
        cylinder,
        axis,
        _add(chosen, eye, "add") or (None if use else _add_of_near(chosen, eye, sphere, cylinder, axis)),
        _add(chosen, eye, "intermediate_add"),
        tuple(_prisms(pieces, eye)),
        _apply(figures.acuity_text, pieces("acuity")) or _apply(figures.acuity_text, pieces("near_acuity")),
    )


def _with_balance(eye: EyeRead, said: Piece | None) -> EyeRead:
    if said is None:
        return eye
    return replace(eye, balance=figures.read_of([said], True, "" if eye.sphere is None else POWER_TOO))


def _apply(reader: Any, found: Found | None) -> Read | None:
    if found is None:
        return None
    read: Read | None = reader(found.pieces)
    return replace(read, unsure=read.unsure or found.unsure) if read is not None else None


def _add(chosen: _Chosen, eye: Eye, name: str) -> Read | None:
    """The eye's own, in whatever box, or one written for both."""
    for which in (eye, None):
        for section in (*FAR, "near", "intermediate"):
            if read := _apply(figures.add, chosen.of(section, which, name)):
                return read
    return None


def _add_of_near(chosen: _Chosen, eye: Eye, far: Read | None, cylinder: Read | None, axis: Read | None) -> Read | None:
    """The add that a near power stands for: what it is more plus than the far one, if nothing else differs."""
    near = _apply(figures.sphere, chosen.of("near", eye, "sphere"))
    if near is None or far is None or near.value is None or far.value is None:
        return None
    for mine, reader, name in ((cylinder, figures.cylinder, "cylinder"), (axis, figures.axis, "axis")):
        other = _apply(reader, chosen.of("near", eye, name))
        if other is not None and (mine is None or other.value != mine.value):
            return replace(near, value=None, unsure="The near power differs in more than its sphere.")
    said = near.value - far.value
    if not figures.STEP_D <= said <= figures.ADD_MOST_D:
        return None
    return replace(near, value=said, unsure=f"Worked out from the near sphere, {near.text}.")


def _prisms(pieces: Any, eye: Eye) -> list[tuple[Read, Read]]:
    found: list[tuple[Read, Read]] = []
    ways: tuple[tuple[str, str, tuple[Base, ...]], ...] = (
        ("prism", "base", ()),
        ("prism_again", "base_again", ()),
        ("prism_horizontal", "base", ("in", "out")),
        ("prism_vertical", "base_again", ("up", "down")),
    )
    for name, base, within in ways:
        amount = pieces(name)
        if amount is None:
            continue
        cell: Cell = amount.pieces
        named = any(piece.can_be("base") for piece in cell)
        under = pieces(base) or (pieces("base") if name == "prism_vertical" else None)
        if not named and under is not None:
            cell = (*cell, *under.pieces)
        found += figures.prisms([piece for piece in cell if piece.kind != "mark"], eye, within)
    return found


def _checked(right: EyeRead, left: EyeRead) -> tuple[EyeRead, EyeRead]:
    """What the two eyes say against each other is marked on both."""
    signs = [eye.cylinder.value for eye in (right, left) if eye.cylinder is not None and eye.cylinder.value]
    if len(signs) == 2 and signs[0] * signs[1] < 0:
        right, left = (_mark(eye, "cylinder", SIGNS_DIFFER) for eye in (right, left))
    right, left = _with_add_of(right, left), _with_add_of(left, right)
    right, left = _with_lone_eighth(right, left)
    if _writes_three_figures(right) or _writes_three_figures(left):
        right, left = (_mark(eye, "axis", AXIS_SHORT) if _is_short(eye) else eye for eye in (right, left))
    adds = [eye.add.value for eye in (right, left) if eye.add is not None and eye.add.value]
    if len(adds) == 2 and adds[0] != adds[1]:
        right, left = (_mark(eye, "add", ADDS_DIFFER) for eye in (right, left))
    return right, left


def _with_lone_eighth(right: EyeRead, left: EyeRead) -> tuple[EyeRead, EyeRead]:
    """One power in eighths among others in quarters is more often a figure misread than a prescriber's eighth."""
    eyes = [right, left]
    read = {
        (place, name): getattr(eye, name).value
        for place, eye in enumerate(eyes)
        for name in ("sphere", "cylinder", "add")
        if getattr(eye, name) is not None and getattr(eye, name).value
    }
    eighths = [key for key, value in read.items() if exact_eighth(value) * 4 % 1]
    if len(eighths) == 1 and len(read) >= LEAST_AROUND:
        place, name = eighths[0]
        eyes[place] = _mark(eyes[place], name, LONE_EIGHTH)
    return eyes[0], eyes[1]


def _writes_three_figures(eye: EyeRead) -> bool:
    return eye.axis is not None and bool(re.match(r"0\d\d", eye.axis.text))


def _is_short(eye: EyeRead) -> bool:
    return eye.axis is not None and not re.match(r"\d{3}", eye.axis.text)


def _with_add_of(eye: EyeRead, fellow: EyeRead) -> EyeRead:
    """An add written for one eye alone holds for both (common practice), and is marked."""
    if eye.add is not None or fellow.add is None or eye.sphere is None or not fellow.add.value:
        return eye
    return replace(eye, add=replace(fellow.add, unsure=fellow.add.unsure or ADD_ONCE))


def _mark(eye: EyeRead, name: str, why: str) -> EyeRead:
    read: Read | None = getattr(eye, name)
    if read is None:
        return eye
    changed: dict[str, Any] = {name: replace(read, unsure=read.unsure or why)}
    return replace(eye, **changed)


def _marked(reading: Reading, why: str) -> Reading:
    """Every figure of both eyes marked."""
    eyes = []
    for eye in (reading.right, reading.left):
        for name in ("sphere", "cylinder", "axis", "add", "intermediate_add", "acuity"):
            eye = _mark(eye, name, why)
        pairs = tuple(
            (replace(amount, unsure=amount.unsure or why), replace(base, unsure=base.unsure or why))
            for amount, base in eye.prism
        )
        eyes.append(replace(eye, prism=pairs))
    return replace(reading, right=eyes[0], left=eyes[1])


def _distances(chosen: _Chosen) -> dict[str, Read]:
    """PD and vertex distance, in mm. The PD is of both eyes; two halves are added up."""
    found: dict[str, Read] = {}
    least, most = figure("pd-range", "least_possible_mm"), figure("pd-range", "most_possible_mm")
    every = chosen.found.found
    for name, low, high in (
        ("pd_mm", least, most),
        ("vertex_mm", figure("typed-prescription", "vertex_least_mm"), figure("typed-prescription", "vertex_most_mm")),
    ):
        cells = [found.pieces for (_, _, field_), found in every.items() if field_ == name.removesuffix("_mm")]
        if cells and (read := _distance(cells, low, high)):
            found[name] = read
    return found


def _distance(cells: list[Cell], low: float, high: float) -> Read | None:
    single = [figures.millimetres(cell, low, high) for cell in cells]
    whole = next((read for read in single if read is not None and read.value is not None), None)
    if whole is not None:
        return whole
    return figures.millimetres([piece for cell in cells for piece in cell], low, high)


def _unread(left: Iterable[Piece]) -> tuple[tuple[str, Box, int], ...]:
    return tuple((text_of([piece]), piece.box, piece.page) for piece in left)
