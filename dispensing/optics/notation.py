"""Powers and prescriptions as people write them: reading them without guessing, and writing them out.

Reading accepts the usual forms (-3.25/-1.00x170 add 2.00, decimal commas, true minus signs, plus or minus cylinder, DS,
plano, prisms with their base, both eyes in one paste).  A missing sign, decimal point, axis or base is refused with a
NotationError that says what is missing; it is never filled in.  Anything read differently from how it was written (axis
0 as 180, one add for both eyes) is stated in `notes`.  Writing always shows the sign and two decimals.  This module
must never judge whether a power is plausible.
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

from dispensing.optics.conventions import Eye
from dispensing.optics.errors import require_finite, require_range
from dispensing.optics.notation_parser import KNOWN_WORDS, PLANO, LineReader, ParsedEyeLine, WrittenPrism
from dispensing.optics.notation_tokens import (
    NotationError,
    WrittenNumber,
    plain,
    read_axis,
    read_power,
    tokens,
)

__all__ = [
    "NotationError",
    "ParsedEyeLine",
    "WrittenPrism",
    "exact_eighth",
    "eyes_named",
    "format_amount",
    "format_axis",
    "format_power",
    "format_prescription_line",
    "is_known_word",
    "parse_add",
    "parse_axis",
    "parse_noted_axis",
    "parse_power",
    "parse_prescription",
    "parse_prescription_line",
]

HUNDREDTH, THOUSANDTH = Decimal("0.01"), Decimal("0.001")
QUARTER, EIGHTH = Decimal("0.25"), Decimal("0.125")
CUT_D = 0.005
"""What an eighth loses or gains when written with two decimals."""

BINARY_NOISE_D = 1e-9

LARGEST_WRITTEN_D = 10_000.0
"""Larger than any power; above this, two decimals are not worth writing."""

_EYE_MARK = re.compile(
    r"(?<![a-z])(?:(?P<right>o\.?d\.?|r\.?e\.?|right(?:\s+eye)?|rt|r)"
    r"|(?P<left>o\.?s\.?|l\.?e\.?|left(?:\s+eye)?|lt|l)"
    r"|(?P<both>o\.?u\.?|both(?:\s+eyes)?))(?![a-z])\s*[:=)]*"
)


def parse_power(text: str, quantity: str = "power") -> float:
    """One power in D from one field: signed, or plano, or 0.  Raises NotationError."""
    written = _only_token(text, quantity, "a signed power, as in -3.25, or plano")
    return 0.0 if isinstance(written, str) else read_power(written, quantity)


def parse_add(text: str) -> float:
    """One add in D from one field; plus by convention, so the sign may be absent.  Raises NotationError."""
    written = _only_token(text, "add", "a power, as in 2.00")
    add = 0.0 if isinstance(written, str) else read_power(written, "add", sign_needed=False)
    if add < 0.0:
        raise NotationError("add", text, "", "a plus power", "An add is never minus.")
    return add


def parse_axis(text: str) -> int:
    """One axis from one field, whole degrees 1 to 180; 0 is returned as 180.  Raises NotationError."""
    return parse_noted_axis(text)[0]


def parse_noted_axis(text: str) -> tuple[int, tuple[str, ...]]:
    """The same, with a note in words of anything read differently from how it was written.  Raises NotationError."""
    written = _only_token(text, "axis", "a whole number from 1 to 180")
    if isinstance(written, str):
        raise NotationError("axis", text, "", "a whole number from 1 to 180")
    return read_axis(written)


def parse_prescription_line(text: str) -> ParsedEyeLine:
    """One eye's line, as in `-3.25/-1.00x170 add 2.00` or `plano 2Δ base in`.  Raises NotationError."""
    return LineReader(text).line()


def parse_prescription(text: str) -> tuple[ParsedEyeLine | None, ParsedEyeLine | None]:
    """(right, left) from a paste of both eyes; an eye that is not written is None.

    Eyes are named (R/L, OD/OS, RE/LE, right/left, OU) or stand on two lines, right above left.  An add
    written for one eye alone holds for both and is noted.  Raises NotationError.
    """
    spelled = plain(text)
    marks = list(_EYE_MARK.finditer(spelled))
    if not marks:
        return _two_lines(spelled)
    if spelled[: marks[0].start()].strip(" \t\r\n,;:-"):
        raise NotationError("prescription", spelled[: marks[0].start()].strip(), "", "text that begins with an eye")
    read: dict[Eye, ParsedEyeLine] = {}
    ends = [mark.start() for mark in marks[1:]] + [len(spelled)]
    for mark, end in zip(marks, ends, strict=True):
        line = _named_line(spelled[mark.end() : end], mark.group())
        for eye in _eyes_of(mark):
            if eye in read:
                raise NotationError("prescription", f"the {eye} eye written twice", "", "each eye once")
            read[eye] = line
    return _share_add(read.get("right"), read.get("left"))


def eyes_named(text: str) -> tuple[Eye, ...]:
    """The eye, or both, that a text names last; none if it names none."""
    marks = list(_EYE_MARK.finditer(plain(text)))
    return _eyes_of(marks[-1]) if marks else ()


def is_known_word(word: str) -> bool:
    """Whether a word can stand in a written prescription: a label, a unit, a base, plano or an eye."""
    said = plain(word).strip()
    return said in KNOWN_WORDS or _EYE_MARK.fullmatch(said) is not None


def _only_token(text: str, quantity: str, allowed: str) -> WrittenNumber | str:
    found = tokens(text)
    if len(found) == 1 and (isinstance(found[0], WrittenNumber) or found[0] in PLANO):
        return found[0]
    if len(found) == 2 and found[0] in ("+", "-") and isinstance(found[1], WrittenNumber):
        raise NotationError(quantity, text.strip(), "", allowed, "Write the sign directly before its number.", "sign")
    raise NotationError(quantity, text.strip() or None, "", allowed)


def _eyes_of(mark: re.Match[str]) -> tuple[Eye, ...]:
    if mark["both"]:
        return ("right", "left")
    return ("right",) if mark["right"] else ("left",)


def _named_line(text: str, name: str) -> ParsedEyeLine:
    if re.match(r"\s*-\s", text):
        raise NotationError(
            "sphere",
            f"{name.strip()}{text.rstrip()}",
            "",
            "a sign directly before its number",
            "The dash could be a minus sign or a separator.",
            "sign",
        )
    return parse_prescription_line(text)


def _two_lines(spelled: str) -> tuple[ParsedEyeLine | None, ParsedEyeLine | None]:
    lines = [line for line in spelled.splitlines() if line.strip()]
    if len(lines) == 3 and re.match(r"\s*ad", lines[2]):
        lines = [lines[0], f"{lines[1]} {lines[2]}"]
    if len(lines) != 2:
        raise NotationError(
            "eye",
            None,
            "",
            "R and L (or OD and OS) before each power, or two lines, right above left",
            "Say which eye the power belongs to.",
            "eye",
        )
    right, left = (parse_prescription_line(line) for line in lines)
    note = "No eye was named: the first line was read as right, the second as left."
    right = replace(right, notes=(*right.notes, note))
    return _share_add(right, replace(left, notes=(*left.notes, note)))


def _share_add(
    right: ParsedEyeLine | None, left: ParsedEyeLine | None
) -> tuple[ParsedEyeLine | None, ParsedEyeLine | None]:
    """An add written once belongs to both eyes (common practice)."""
    if right is None or left is None or (right.add is None) == (left.add is None):
        return right, left
    note = "The add is written once and was read for both eyes."
    if right.add is None:
        return replace(right, add=left.add, notes=(*right.notes, note)), left
    return right, replace(left, add=right.add, notes=(*left.notes, note))


def format_power(power_d: float, *, plano: str | None = None, minus: str = "-") -> str:
    """A power in D with its sign and two decimals; an eighth whole, with three (-3.375, +0.125).

    Every power shown anywhere is rounded this way. The trade writes an eighth as -3.375, or cuts it to -3.37; rounded,
    it would read -3.38, which is a different power to anyone who counts in eighths. Every other figure is rounded to
    hundredths, halves away from zero. plano: the word for zero, where one is wanted ("Plano"); minus: the sign to
    print.
    """
    power = Decimal(f"{require_range('power', power_d, 'D', -LARGEST_WRITTEN_D, LARGEST_WRITTEN_D):.6f}")
    size = abs(power).quantize(THOUSANDTH if power % EIGHTH == 0 and power % QUARTER else HUNDREDTH, ROUND_HALF_UP)
    if size == 0:
        return plano if plano is not None else "0.00"
    return f"{'+' if power > 0 else minus}{size}"


def format_amount(power_d: float) -> str:
    """An amount of power in D without its sign: `0.75`, `0.125`."""
    return format_power(power_d).lstrip("+-")


def exact_eighth(power_d: float) -> float:
    """The eighth that a power of two decimals stands for: 0.12 and 0.13 are 0.125, -3.37 and -3.38 are -3.375.

    Every other figure comes back unchanged. Used where powers enter the record, so that the eighth itself is stored.
    """
    power = require_range("power", power_d, "D", -LARGEST_WRITTEN_D, LARGEST_WRITTEN_D)
    eighths = round(power * 8.0)
    off = abs(eighths / 8.0 - power)
    return eighths / 8.0 if eighths % 2 and abs(off - CUT_D) < BINARY_NOISE_D else power


def format_axis(axis_deg: float) -> str:
    """An axis in whole degrees, 1 to 180, without a degree sign."""
    axis = require_range("axis", axis_deg, "deg", 0.0, 180.0)
    return str(int(axis + 0.5) or 180)


def format_prescription_line(
    sphere_d: float,
    cylinder_d: float | None = None,
    axis_deg: float | None = None,
    add_d: float | None = None,
    *,
    plano: str | None = None,
    minus: str = "-",
) -> str:
    """One eye as written on an order: `-3.25 / -1.00 x 170 add +2.00`; powers in D, axis in degrees."""
    parts = [format_power(sphere_d, plano=plano, minus=minus)]
    if cylinder_d:
        parts.append(
            f"/ {format_power(cylinder_d, minus=minus)} x {format_axis(require_finite('axis', axis_deg, 'deg'))}"
        )
    if add_d is not None:
        parts.append(f"add {format_power(add_d, minus=minus)}")
    return " ".join(parts)
