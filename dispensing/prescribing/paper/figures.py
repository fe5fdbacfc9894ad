"""The pieces of one field as a value, by the readers that read what people type; what they refuse stays empty.

Recognition drops decimal points and signs. A lost point is put back where only one place for it gives a power, and the
figure is marked; a lost sign never is, because nothing on the paper says which it was.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from dispensing.optics.conventions import Base, Eye
from dispensing.optics.notation import NotationError, exact_eighth, parse_add, parse_axis, parse_power
from dispensing.optics.prism import Prism
from dispensing.prescribing import acuity
from dispensing.prescribing.paper.pieces import Piece, text_of
from dispensing.prescribing.paper.words import Read, around
from dispensing.trade import figure

SURE = 0.8
READABLE = 0.5
"""Of the recogniser's own confidence: below the first a person looks, below the second nothing is filled in."""

FAINT = "The print is hard to read."
CROSSED = "A stamp, a pen or the edge of the picture crosses it."
POINT_LOST = "The decimal point is missing."
NO_SIGN = "No sign can be read: plus or minus?"
NO_STEP = "This is not in quarter steps."
WHOLE = "It stands without decimals; some may be hidden."
OUT_OF_RANGE = "No prescription has such a figure."
MENDED = "A letter was read as the figure it looks like."
TWO_FIGURES = "More than one figure stands here."
ONE_NUMBER = re.compile(r"[+-]?\d*\.?\d+")

SPHERE_MOST_D = figure("read-prescription", "sphere_most_d")
CYLINDER_MOST_D = figure("read-prescription", "cylinder_most_d")
ADD_MOST_D = figure("read-prescription", "add_most_d")
STEP_D = figure("power-step-and-range", "fine_step_d")


def read_of(pieces: Sequence[Piece], value: Any, unsure: str = "") -> Read:
    """The field with its text and place; a value that is hardly readable is left out, a doubtful one marked."""
    confidence = min(piece.confidence for piece in pieces)
    if confidence < READABLE:
        value, unsure = None, unsure or FAINT
    elif confidence < SURE:
        unsure = unsure or FAINT
    if any(piece.mended for piece in pieces):
        unsure = unsure or MENDED
    if any(piece.crossed for piece in pieces):
        unsure = unsure or CROSSED
    first = pieces[0]
    return Read(value, text_of(pieces), confidence, around(piece.box for piece in pieces), first.page, unsure)


def sphere(pieces: Sequence[Piece]) -> Read | None:
    return _power(pieces, "sphere", SPHERE_MOST_D)


def cylinder(pieces: Sequence[Piece]) -> Read | None:
    """None for a cell that says that there is no cylinder: DS, a dash, 0.00."""
    if any(piece.can_be("word") == "no_cylinder" for piece in pieces):
        return None
    read = _power(pieces, "cylinder", CYLINDER_MOST_D)
    return None if read is not None and read.value == 0.0 else read


def _power(pieces: Sequence[Piece], quantity: str, most_d: float) -> Read | None:
    if any(piece.can_be("word") == "plano" or piece.text == "∞" for piece in pieces):
        return read_of(pieces, 0.0)
    kept = _numbers(pieces)
    if not kept:
        return None
    if sum(piece.is_figure for piece in kept) > 1:
        return read_of(kept, None, TWO_FIGURES)
    text = _as_typed(kept)
    try:
        value = parse_power(text, quantity)
    except NotationError as fault:
        if fault.missing == "sign" or not re.match("[+-]", text):
            return read_of(kept, None, NO_SIGN)
        pointed = _with_point(text) if fault.missing == "decimal point" else None
        if pointed is not None and abs(pointed) <= most_d:
            return read_of(kept, pointed, POINT_LOST)
        return read_of(kept, None, POINT_LOST if fault.missing == "decimal point" else OUT_OF_RANGE)
    return _in_range(kept, value, -most_d, most_d)


def add(pieces: Sequence[Piece]) -> Read | None:
    """An add; a minus before it, which no add has, leaves it empty. None for a dash or a figure of nought."""
    kept = _numbers(pieces)
    if not kept:
        return None
    if sum(piece.is_figure for piece in kept) > 1:
        return read_of(kept, None, TWO_FIGURES)
    text = _as_typed(kept)
    try:
        value = parse_add(text)
    except NotationError as fault:
        point = fault.missing == "decimal point"
        if point and (found := _with_point(text)) is not None and 0.0 < found <= ADD_MOST_D:
            return read_of(kept, found, POINT_LOST)
        return read_of(kept, None, POINT_LOST if point else OUT_OF_RANGE)
    return None if value == 0.0 else _in_range(kept, value, STEP_D, ADD_MOST_D)


def axis(pieces: Sequence[Piece]) -> Read | None:
    kept = _numbers(pieces)
    if not kept:
        return None
    try:
        value = parse_axis(_as_typed(kept))
    except NotationError:
        return read_of(kept, None, OUT_OF_RANGE)
    return read_of(kept, value)


def prisms(pieces: Sequence[Piece], eye: Eye, within: Sequence[Base] = ()) -> list[tuple[Read, Read]]:
    """Amounts with their bases, in words or as an angle on the chart. ``within``: the bases that the column allows.

    A prism without a base that can be read has an empty base.
    """
    found: list[tuple[Read, Read]] = []
    amount: Piece | None = None
    for piece in pieces:
        if base := piece.can_be("base"):
            if amount is not None:
                found.append(_prism(amount, piece, base if not within or base in within else ""))
                amount = None
        elif piece.is_figure and amount is None:
            amount = piece
        elif piece.is_figure and amount is not None and re.fullmatch(r"\d{1,3}", piece.text):
            found += _at_angle(amount, piece, eye)
            amount = None
    if amount is not None and _amount(amount) != 0.0:
        found.append(_prism(amount, amount, ""))
    return found


def _prism(amount: Piece, base: Piece, name: str) -> tuple[Read, Read]:
    value = _amount(amount)
    said = read_of([amount], value or None, "" if value else OUT_OF_RANGE)
    if not name:
        return said, read_of([base], None, "The base cannot be read.")
    return said, read_of([base], name)


def _at_angle(amount: Piece, angle: Piece, eye: Eye) -> list[tuple[Read, Read]]:
    value, degrees = _amount(amount), float(angle.text)
    if not value or degrees > 360.0:
        return [_prism(amount, angle, "")]
    parts = Prism.from_angle(value, degrees, eye).written()
    unsure = f"Worked out from {text_of([amount])} Δ at {text_of([angle])}°." if len(parts) > 1 else ""
    return [
        (read_of([amount], round(size, 2), unsure), read_of([angle], base, unsure))
        for size, base in parts
    ]  # fmt: skip


def _amount(piece: Piece) -> float | None:
    """An amount of prism in Δ; None if it is none, 0.0 for nought."""
    text = piece.text.replace(",", ".").lstrip("+")
    if text.startswith("-") or (text.isdigit() and len(text) > 1):
        return None
    value = float(text)
    return value if value <= figure("read-prescription", "prism_most_pd") else None


def acuity_text(pieces: Sequence[Piece]) -> Read | None:
    """An acuity as written, if it is one in any notation."""
    kept = [piece for piece in pieces if piece.kind != "mark" or piece.text in "+-/"]
    if not kept:
        return None
    text = text_of(kept).replace(",", ".")
    meant = acuity.read(text)
    if not meant.readable or not (meant.possible or meant.near_only):
        return read_of(kept, None, "This is no acuity.") if re.search(r"\d", text) else None
    return read_of(kept, text, WHOLE if re.fullmatch(r"\d", text) else "")


def millimetres(pieces: Sequence[Piece], least: float, most: float) -> Read | None:
    """One distance in mm; two halves of a PD written beside each other are added up."""
    kept = [piece for piece in pieces if piece.is_figure or piece.kind == "fraction"]
    if not kept:
        return None
    numbers = [float(text.replace(",", ".")) for piece in kept for text in re.findall(r"\d+(?:[.,]\d+)?", piece.text)]
    value = next((one for one in numbers if least <= one <= most), None)
    if value is None and len(numbers) >= 2:
        value = numbers[0] + numbers[1]
    if value is None or not least <= value <= most:
        return read_of(kept, None, OUT_OF_RANGE)
    return read_of(kept, value)


def _numbers(pieces: Sequence[Piece]) -> list[Piece]:
    """The figures of a cell with the signs that belong to them; a dash alone says that there is none."""
    kept = [piece for piece in pieces if piece.is_figure or piece.text in ("+", "-") or piece.kind == "fraction"]
    while kept and kept[-1].text in ("+", "-"):
        kept.pop()
    return kept if any(piece.is_figure or piece.kind == "fraction" for piece in kept) else []


def _as_typed(pieces: Sequence[Piece]) -> str:
    return "".join(piece.text for piece in pieces).replace("·", ".").replace(",", ".")


def _with_point(text: str) -> float | None:
    """The power whose decimal point was lost, if only one place gives one: −325 is −3.25, but −25 is not clear."""
    match = re.fullmatch(r"([+-]?)(\d{1,2})(00|25|50|75)", text)
    return None if match is None else float(f"{match[1]}{match[2]}.{match[3]}")


def _in_range(pieces: Sequence[Piece], value: float, low: float, high: float) -> Read:
    if not low <= value <= high:
        return read_of(pieces, None, OUT_OF_RANGE)
    steps = exact_eighth(value) / STEP_D
    whole = value != 0.0 and not any(re.search(r"[.,·]", piece.text) for piece in pieces)
    unsure = WHOLE if whole else "" if abs(steps - round(steps)) < 1e-9 else NO_STEP
    return read_of(pieces, value, unsure)
