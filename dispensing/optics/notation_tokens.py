"""Cuts written prescriptions into numbers and words, and holds the rules that a written number must keep.

Typists, word processors and countries write minus signs, crosses and decimal points in many ways; here each is reduced
to one.  A number keeps its own spelling, because a missing sign or decimal point is a question for the writer and must
never be guessed.  This module must never know the order in which a prescription is written.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from dispensing.optics.errors import OpticsError
from dispensing.trade import figure

POWER_MOST_D = figure("typed-prescription", "power_most_d")
PRISM_MOST_PD = figure("typed-prescription", "prism_most_pd")

Missing = Literal["sign", "decimal point", "sphere", "cylinder", "axis", "base", "amount", "eye"]

_ONE_SPELLING = str.maketrans(
    {
        **dict.fromkeys("\u2212\u2010\u2011\u2012\u2013\u2014\ufe63\uff0d", "-"),
        **dict.fromkeys("\uff0b\ufe62", "+"),
        **dict.fromkeys("\u00d7\u2715\u2716\u2a2f\u2a09", "x"),
        **dict.fromkeys("\u00b0\u00ba", " "),
        **dict.fromkeys("\u0394\u03b4\u2206\u25b3^", " pd "),
        "\u221e": " plano ",
        "\uff0c": ",",
    }
)

_TOKEN = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)|[a-z]+|[^\s\w]|\w", re.ASCII)
_NUMBER = re.compile(r"([+-]?)(\d*)(?:(\.)(\d*))?", re.ASCII)


class NotationError(OpticsError):
    """A written power or prescription that cannot be read without guessing.

    missing: what the writer has to add, if that is the problem; else None.
    """

    def __init__(
        self, quantity: str, value: object, unit: str, allowed: str, advice: str = "", missing: Missing | None = None
    ) -> None:
        super().__init__(quantity, value, unit, allowed, advice)
        self.missing = missing


@dataclass(frozen=True, slots=True)
class WrittenNumber:
    """A number as it was written: `text` keeps sign and decimal point."""

    text: str

    @property
    def signed(self) -> bool:
        return self.text[0] in "+-"

    @property
    def whole(self) -> bool:
        return "." not in self.text

    @property
    def value(self) -> float:
        return float(self.text) + 0.0


Token = WrittenNumber | str


def plain(text: str) -> str:
    """`text` in lower case with one spelling of minus, cross, prism sign and decimal point."""
    if not isinstance(text, str):
        raise NotationError("prescription", text, "", "text")
    spelled = text.translate(_ONE_SPELLING).lower()
    return re.sub(r"(?<=\d)[,\u00b7](?=\d)|(?<=[+-]),(?=\d)", ".", spelled)


def tokens(text: str) -> list[Token]:
    """The numbers and words of a text, in order."""
    cut = _TOKEN.findall(plain(text))
    return [WrittenNumber(piece) if re.search(r"[0-9]", piece) else piece for piece in cut]


def read_power(written: WrittenNumber, quantity: str, *, sign_needed: bool = True) -> float:
    """A power in D.  Raises NotationError where the sign or decimal point is missing, or it is too large.

    One digit may stand without a decimal point (-3 is -3.00); more may not, because -325 and -25 can be read in more
    than one way.  Zero needs no sign.
    """
    match = _NUMBER.fullmatch(written.text)
    digits, decimals = (match[2], match[4] or "") if match else ("", "")
    if written.whole and len(digits) > 1 and written.value != 0.0:
        raise NotationError(
            quantity,
            written.text,
            "",
            "a power with its decimal point, as in -3.25",
            "The decimal point is missing: write it.",
            "decimal point",
        )
    if not written.whole and not 1 <= len(decimals) <= 3:
        raise NotationError(quantity, written.text, "", "one to three decimals, as in -3.25")
    if sign_needed and not written.signed and written.value != 0.0:
        raise NotationError(
            quantity,
            written.text,
            "",
            "a power with its sign, + or -",
            "The sign is missing: write + or - directly before the number.",
            "sign",
        )
    if abs(written.value) > POWER_MOST_D:
        raise NotationError(quantity, written.text, "D", f"-{POWER_MOST_D:.2f} to +{POWER_MOST_D:.2f} D")
    return written.value


def read_axis(written: WrittenNumber) -> tuple[int, tuple[str, ...]]:
    """An axis, 1 to 180 in whole degrees, and notes; 0 is read as 180 and noted."""
    if written.signed or not written.whole or not 0 <= int(written.text) <= 180:
        raise NotationError("axis", written.text, "", "a whole number from 1 to 180")
    axis = int(written.text)
    return (axis, ()) if axis else (180, ("Axis 0 was read as 180.",))


def read_prism_amount(written: WrittenNumber) -> float:
    """An amount of prism in Δ, without sign; two digits need their decimal point (15 or 1.5?)."""
    if written.whole and not written.signed and len(written.text) > 1:
        raise NotationError(
            "prism",
            written.text,
            "",
            "an amount with its decimal point, as in 1.50",
            "The decimal point is missing: write it.",
            "decimal point",
        )
    if written.signed or not 0.0 < written.value <= PRISM_MOST_PD:
        raise NotationError(
            "prism", written.text, "Δ", f"an amount up to {PRISM_MOST_PD:.2f} without sign, then its base"
        )
    return written.value
