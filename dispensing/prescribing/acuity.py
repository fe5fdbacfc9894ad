"""Acuities as people write them: 6/6, 20/20-2, 0.8, 0.1 logMAR, CF at 1 m, N5. Must never judge a lens.

All notations become a decimal acuity, the reciprocal of the smallest detail seen in minutes of arc (ISO 8596): 6/12 and
20/40 are 0.5, and x logMAR is 10 to the power of −x (I. L. Bailey and J. E. Lovie, Am J Optom Physiol Opt 53, 1976).
Counting fingers, hand movements, perception of light and none are 0. The notation of a bare number is not guessed: 1.0
is normal sight as a decimal and 6/60 in logMAR. Near print (N, J, M) says nothing about distance, and an acuity without
glasses says nothing about the acuity with them.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from dispensing.trade import figure
from dispensing.trade.facts import data_file

Notation = Literal["fraction", "decimal", "logMAR", "words", "bare"]
Print = Literal["N", "J", "M"]
"""Near print: points (N), Jaeger's numbers (J), whose sizes differ from card to card, and metres (M)."""

PRINTS: tuple[Print, ...] = ("N", "J", "M")
BEST_DECIMAL = figure("typed-acuity", "best_acuity")
LOGMAR_RANGE = (round(-math.log10(BEST_DECIMAL), 1), -math.log10(figure("typed-acuity", "worst_acuity")))

_NUMBER = r"\d*\.?\d+"
_LETTERS = r"(?:\s*[+-]\s*\d(?![\d.])|[+-](?![\d.]))*"
_ENDS = r"(?!/|\d|\.\d)"
_LENGTH = r"(?:\s*(?:@|at|from|in)?\s*\d+(?:[./]\d+)?\s*(?:cm|mm|m|ft|feet|foot|inch(?:es)?|metres?|meters?)\b)"
_BARELY = (
    r"\b(?:cf|fc|hm|lp|pl|nlp|npl|fz|hbw|count(?:s|ing)?\s+fingers|finger\s*count\w*|hand\s+mo(?:vements?|tions?)"
    r"|(?:no\s+)?(?:light\s+perception|perception\s+of\s+light|perception)|(?<!colour )(?<!color )(?<!-)blind\b"
    r"|prosthe\w*|artificial|glass\s+eye|enucleat\w*|anophthalm\w*)"
)
_DECIMAL_WORD = r"(?:dec|decimal|dezimal|visus)\b\.?"
_LOGMAR_WORD = r"log\s?mar\b"

_VALUE = re.compile(
    rf"(?P<words>{_BARELY}[+-]?{_LENGTH}?)"
    rf"|(?P<log_after>{_LOGMAR_WORD}\s*[=:]?\s*(?P<log_one>[+-]?{_NUMBER}))"
    rf"|(?<![\d./])(?P<fraction>(?P<top>\d+(?:\.\d+)?)\s*/\s*(?P<below>\d+(?:\.\d+)?){_ENDS}{_LETTERS})"
    rf"|(?<![\d./])(?P<log_before>(?P<log_two>[+-]?{_NUMBER})\s*{_LOGMAR_WORD})"
    rf"|(?P<dec_after>{_DECIMAL_WORD}\s*[=:]?\s*(?P<dec_one>{_NUMBER}))"
    rf"|(?<![\d./])(?P<dec_before>(?P<dec_two>{_NUMBER})\s*(?:{_DECIMAL_WORD}|p+\b|part\w*))"
    rf"|(?<![\d./])(?P<bare>[+-]?{_NUMBER}){_ENDS}(?!\s*(?:(?:cm|mm|m|ft)\b|%)){_LETTERS}"
)
_NEAR_PRINT = re.compile(
    r"(?:\b(?:[Nn]ear|[Rr]eading|NVA?)\b\s*[:=]?\s*)?\b(?:[Nn]\s?\.?\s?\d+(?:\.\d+)?|[Jj](?:aeger)?\s?\.?\s?\d+"
    rf"|P(?:arinaud)?\s?\d+|{_NUMBER}\s?M\b){_LETTERS}{_LENGTH}?"
)
_PRINT_SIZE = re.compile(
    rf"\b(?:[Nn]\s?\.?\s?(?P<N>\d+(?:\.\d+)?)|[Jj](?:aeger)?\s?\.?\s?(?P<J>\d+))|(?<![\w.])(?P<M>{_NUMBER})\s?M\b"
)
_WITHOUT_GLASSES = re.compile(r"\b(?:ua|u/a|unaided|uncorrected|ucva|uva|sc|s/c|without)\b")
_NOT_THIS = re.compile(r"\b(?:ph|pinhole|near|nv|nva|reading|was|old|prev\w*)\b")


@dataclass(frozen=True)
class Acuity:
    """What is written for one eye. ``possible``: the decimal acuities that it can mean, each with its notation.

    It is empty if nothing is said about distance vision with glasses, and has more than one if it is not clear which is
    meant. ``lacks_notation``: one number that can be a decimal acuity as well as logMAR. ``near_only``: only near print
    is written. ``readable``: part of it is an acuity, or nothing is written. ``print_read``: the near print that is
    read, its kind and size. ``otherwise``: what a bare number would mean in the other notation, and ``told_by``: what
    spoke against that. ``letters``: those read beyond the line or missed on it, as in ``6/9-2``. ``near``: the part
    about near print, as written.
    """

    written: str = ""
    possible: tuple[tuple[Notation, float], ...] = ()
    lacks_notation: bool = False
    near_only: bool = False
    readable: bool = True
    print_read: tuple[Print, float] | None = None
    otherwise: tuple[tuple[Notation, float], ...] = ()
    told_by: str = ""
    letters: str = ""
    near: str = ""

    @property
    def decimal(self) -> float | None:
        """The decimal acuity, 0 for counting fingers and worse; None if it is not certain."""
        values = {value for _, value in self.possible}
        return values.pop() if len(values) == 1 else None

    @property
    def said(self) -> str:
        """The acuity as written, with the 6 m line added if it is not written that way: ``1.2 (6/95)``."""
        shows = self.decimal is None or self.notation in ("fraction", "words")
        return self.written if shows or self.decimal is None else f"{self.written} ({in_metres(self.decimal)})"

    @property
    def is_unclear(self) -> bool:
        """Whether it can mean more than one acuity."""
        return len({value for _, value in self.possible}) > 1

    @property
    def notation(self) -> Notation | None:
        """The notation it is written in, or None if that is not certain."""
        return self.possible[0][0] if len(self.possible) == 1 else None

    @property
    def is_a_slip(self) -> bool:
        """Whether it has figures that are not an acuity in any notation: 66, 6/1."""
        return not self.readable and bool(re.search(r"\d", self.written))

    def is_at_most(self, decimal: float) -> bool:
        """Whether it is certainly no better than ``decimal``; never true if nothing is known."""
        return bool(self.possible) and all(value <= decimal + 1e-9 for _, value in self.possible)

    def may_be_either_side_of(self, decimal: float) -> bool:
        """Whether one reading of it is no better than ``decimal`` and another is better."""
        return len({value <= decimal + 1e-9 for _, value in self.possible}) == 2

    @property
    def doubt(self) -> str:
        """How it was read and what else it could mean; empty where its own notation is written."""
        other = "; ".join(f"if it is {notation}, it is {in_metres(value)}" for notation, value in self.otherwise)
        return f"read as {self.notation}, {self.told_by}; {other}" if other else ""

    def question(self) -> str:
        """What each possible reading would mean: ``as a decimal it is 6/6, in logMAR 6/60``."""
        if not self.lacks_notation:
            return "more than one acuity is written"
        by_notation = dict(self.possible)
        return f"as a decimal it is {in_metres(by_notation['decimal'])}, in logMAR {in_metres(by_notation['logMAR'])}"

    def how_to_write(self) -> str:
        """What to write to make the meaning clear."""
        if not self.lacks_notation:
            return "Write the one with this prescription alone."
        return f"Write “{self.written} decimal” or “{self.written} logMAR”."


def read(written: str | None, fellow: str | None = None, country: str | None = None) -> Acuity:
    """What a written acuity means.

    If its own notation is unclear, the fellow eye's decides, and if that is unclear too, the one in which acuities are
    written in the country (``DE``; None if it is not to decide).
    """
    own = _read(written or "")
    if not own.lacks_notation:
        return own
    if fellow and (as_fellow := _taken_as(own, _read(fellow).notation, "like the other eye's")).otherwise:
        return as_fellow
    place = (country or "").strip().upper().partition("-")[0]
    if place in data_file("acuity_notation")["decimal"] and dict(own.possible)["decimal"] > 0.0:
        return _taken_as(own, "decimal", f"as is usual in {place}")
    return own


def _taken_as(own: Acuity, notation: Notation | None, told_by: str) -> Acuity:
    """The same in this notation, if it can be meant in it."""
    same = tuple(pair for pair in own.possible if pair[0] == notation)
    other = tuple(pair for pair in own.possible if pair not in same)
    return replace(own, possible=same, otherwise=other, told_by=told_by, lacks_notation=False) if same else own


def print_sizes(near: str, shown: Callable[[Print, float], str]) -> str:
    """Near print as written, with each of its sizes as ``shown`` writes the kind and size."""

    def again(match: re.Match[str]) -> str:
        kind = next(kind for kind in PRINTS if match[kind])
        return shown(kind, float(match[kind]))

    return _PRINT_SIZE.sub(again, near)


def in_metres(decimal: float) -> str:
    """A decimal acuity written at 6 m: ``6/12``; ``no sight`` for 0."""
    if decimal <= 0.0:
        return "no sight"
    letter = 6.0 / decimal
    if letter >= 10.0:
        return f"6/{letter:.0f}"
    # The line below 6/6 is 6/7.55 by definition, but 6/7.5 on every chart.
    return "6/7.5" if 7.5 <= letter < 7.6 else f"6/{round(letter, 1):g}"


@lru_cache(maxsize=1024)
def _read(written: str) -> Acuity:
    text = unicodedata.normalize("NFKC", written).replace("\u2212", "-").replace("\u2013", "-").strip()
    text = re.sub(r"(?<=\d),(?=\d)", ".", text.replace("\u2044", "/").replace("\u2215", "/"))
    if not text:
        return Acuity()
    far = _NEAR_PRINT.sub(" ", text).lower()
    found = list(_VALUE.finditer(far))
    kept = [match for position, match in enumerate(found) if not _is_of_something_else(far, found, position)]
    meanings = [meaning for match in kept if (meaning := _meanings(match))]
    # A bare number next to a clear acuity repeats it in another notation.
    clear = [meaning for meaning in meanings if len(meaning) == 1] or meanings
    possible = tuple(dict.fromkeys(pair for meaning in clear for pair in meaning))
    if len({round(value, 9) for _, value in possible}) == 1:
        possible = possible[:1]
    near = far != text.lower()
    return Acuity(
        written.strip(),
        possible,
        lacks_notation=len(clear) == 1 and len(possible) == 2,
        near_only=near and not possible,
        readable=bool(possible or near or len(kept) < len(found)),
        print_read=_print_read(text),
        letters=_letters(kept),
        near=" ".join(match.group().strip() for match in _NEAR_PRINT.finditer(text)),
    )


def _letters(kept: list[re.Match[str]]) -> str:
    """What is written behind the line itself, where only one is written."""
    found = re.search(rf"({_LETTERS})$", kept[0].group()) if len(kept) == 1 else None
    return found[1].replace(" ", "") if found else ""


def _print_read(text: str) -> tuple[Print, float] | None:
    """The smallest near print named."""
    sizes = [(float(match[kind]), kind) for match in _PRINT_SIZE.finditer(text) for kind in PRINTS if match[kind]]
    size, kind = min(sizes, default=(None, None))
    return None if size is None or kind is None else (kind, size)


def _is_of_something_else(text: str, found: list[re.Match[str]], position: int) -> bool:
    """Whether a word next to this value says: without glasses, through a pinhole, for near, or at another time."""
    ends = [0, *(match.end() for match in found)]
    starts = [*(match.start() for match in found), len(text)]
    gaps = [text[end:start] for end, start in zip(ends, starts, strict=True)]
    last = position == len(found) - 1
    # Such words come before their value, or after it at the very end.
    if _NOT_THIS.search(gaps[position]) or (last and _NOT_THIS.search(gaps[position + 1])):
        return True
    words_lead = bool(re.search(r"[a-z]", gaps[0]))
    return bool(_WITHOUT_GLASSES.search(gaps[position] if words_lead else gaps[position + 1]))


def _meanings(match: re.Match[str]) -> tuple[tuple[Notation, float], ...]:
    """The decimal acuities that one value can mean; empty if it is not an acuity in any notation."""
    part = match.groupdict()
    if part["words"]:
        return (("words", 0.0),)
    if part["fraction"]:
        top, below = float(part["top"]), float(part["below"])
        return (("fraction", top / below),) if 0.0 < top <= BEST_DECIMAL * below < math.inf else ()
    if log := part["log_one"] or part["log_two"]:
        return _log_mar(float(log))
    if decimal := part["dec_one"] or part["dec_two"]:
        return (("decimal", float(decimal)),) if float(decimal) <= BEST_DECIMAL else ()
    bare = float(part["bare"])
    if part["bare"][0] in "+-":
        return _log_mar(bare)
    return (("decimal", bare), *_log_mar(bare)) if bare <= BEST_DECIMAL else ()


def _log_mar(value: float) -> tuple[tuple[Notation, float], ...]:
    low, high = LOGMAR_RANGE
    return (("logMAR", 10.0**-value),) if low <= value <= high else ()
