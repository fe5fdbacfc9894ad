"""A line as people paste it, with more in it than powers: intermediate add, vertex distance, acuities, PD, balance.

Each of these is taken out of the line first and lands in its own place; a word that means nothing here is set aside
with the figure behind it. The powers are then read by ``optics.notation`` alone. Must never guess what is not written.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from dispensing.optics.conventions import EYES, Eye
from dispensing.optics.notation import (
    NotationError,
    ParsedEyeLine,
    eyes_named,
    is_known_word,
    parse_add,
    parse_prescription,
    parse_prescription_line,
)

_NUMBER = r"\+?\d+(?:[.,]\d+)?"
_GAP = r"\s*[:=]?\s*"
_BOTH_EYES = re.compile(r"\b(?:r\s*[&+]\s*l|re\s*[&+]\s*le|od\s*[&+]\s*os)\b", re.IGNORECASE)
_INTERMEDIATE = re.compile(
    rf"\b(?:(?:int|inter|interm|intermediate)\b\.?\s*(?:add(?:ition)?\b)?|add\s*(?:int|inter|interm|intermediate)\b)"
    rf"\.?{_GAP}(?P<value>{_NUMBER})(?!\d)",
    re.IGNORECASE,
)
_VERTEX = re.compile(
    rf"\b(?:back\s+)?(?:vertex(?:\s+dist(?:ance)?)?|b\.?v\.?d|vd|hsa)\b\.?{_GAP}(?P<value>\d+(?:[.,]\d+)?)(?:\s*mm\b)?",
    re.IGNORECASE,
)
_PD = re.compile(
    rf"\b(?:i?p\.?d)\b\.?{_GAP}(?P<value>\d\d(?:[.,]\d+)?(?:\s*/\s*\d\d(?:[.,]\d+)?)?)(?:\s*mm\b)?",
    re.IGNORECASE,
)
_ACUITY = re.compile(
    r"(?:\bva\b\s*[:=]?\s*)?(?<![\d.,/+-])(?P<value>(?:6|5|4|3|20|10)/\d{1,3}(?:[.,]\d)?(?:[+-]\d(?![\d.,]))?"
    r"(?:\s*,?\s*\b[NJ]\.?\s?\d{1,2}\b)?|\b[NJ]\.?\s?\d{1,2}\b)(?![\d/]|[.,]\d)",
    re.IGNORECASE,
)
_PRISM_AND_BASE = re.compile(
    r"\bprism\s*/\s*base\b|(?P<amount>\b\d+(?:[.,]\d+)?)\s*/\s*(?P<base>(?:in|out|up|down|b[ioud])\b)", re.IGNORECASE
)
"""As a table heads it and fills it: ``Prism/base 2/in 1/up``."""
_BALANCE = re.compile(r"\bbal(?:ance)?\b\.?(?:\s+lens\b)?", re.IGNORECASE)
_WORD = re.compile(r"[^\W\d_]+[.:]?(?:\s*[+-]?\d+(?:[.,]\d+)?(?![\d/x]))?")
SAYS_NOTHING = {"rx", "eye", "eyes"}
_EYE = r"(?:od|os|re|le|rt|lt|right|left|r|l)"
_EMPTY_EYE = re.compile(rf"(?<![a-z]){_EYE}\b\s*[:=)]*[\s,;]*(?=$|{_EYE}\b)", re.IGNORECASE)
NOTHING_LEFT = " ,;:()/&+-\r\n\t"


@dataclass
class WrittenLine:
    """What a line says. ``lines``: the powers by eye; ``aside``: what has no place, as it was written.

    ``intermediate_add`` and ``acuity`` by eye, D and text; ``vertex_mm`` and ``pd`` as written; ``balance``: eyes whose
    lens is to be a balance lens.
    """

    lines: dict[Eye, ParsedEyeLine | None] = field(default_factory=dict)
    intermediate_add: dict[Eye, float] = field(default_factory=dict)
    acuity: dict[Eye, str] = field(default_factory=dict)
    balance: list[Eye] = field(default_factory=list)
    vertex_mm: str = ""
    pd: str = ""
    aside: list[str] = field(default_factory=list)

    @property
    def is_empty(self) -> bool:
        """Whether nothing in it has a place."""
        placed = (self.intermediate_add, self.acuity, self.balance, self.vertex_mm, self.pd)
        return not any(placed) and not any(line is not None for line in self.lines.values())


def read_written(text: str, eye: Eye | None = None) -> WrittenLine:
    """Everything in a line; ``eye``: whose it is if it names none. Raises NotationError for the powers alone."""
    said = WrittenLine()
    rest = _PRISM_AND_BASE.sub(_amount_then_base, _BOTH_EYES.sub("both", text))
    for form, keep in (
        (_INTERMEDIATE, _intermediate),
        (_VERTEX, _vertex),
        (_PD, _pd),
        (_ACUITY, _acuity),
        (_BALANCE, _balance),
    ):
        rest = _taken(rest, form, said, keep, eye)
    said.lines = _powers(rest, said, eye)
    if eye is not None:
        said.intermediate_add = {name: value for name, value in said.intermediate_add.items() if name == eye}
    return said


def _amount_then_base(match: re.Match[str]) -> str:
    return f"{match['amount']} {match['base']}" if match["amount"] else "prism"


Keep = Callable[[WrittenLine, re.Match[str], tuple[Eye, ...]], None]


def _taken(text: str, form: re.Pattern[str], said: WrittenLine, keep: Keep, eye: Eye | None) -> str:
    """The text without what this form finds in it; each find is kept for the eye named last before it."""

    def take(match: re.Match[str]) -> str:
        keep(said, match, (eye,) if eye else eyes_named(text[: match.start()]) or EYES)
        return " "

    return form.sub(take, text)


def _intermediate(said: WrittenLine, match: re.Match[str], eyes: tuple[Eye, ...]) -> None:
    try:
        value = parse_add(match["value"])
    except NotationError:
        said.aside.append(match.group().strip())
        return
    for eye in eyes if len(said.intermediate_add) else EYES:
        said.intermediate_add[eye] = value


def _vertex(said: WrittenLine, match: re.Match[str], eyes: tuple[Eye, ...]) -> None:
    said.vertex_mm = match["value"].replace(",", ".")


def _pd(said: WrittenLine, match: re.Match[str], eyes: tuple[Eye, ...]) -> None:
    said.pd = match["value"]


def _acuity(said: WrittenLine, match: re.Match[str], eyes: tuple[Eye, ...]) -> None:
    for eye in eyes:
        said.acuity[eye] = f"{said.acuity.get(eye, '')} {match['value'].upper()}".strip()


def _balance(said: WrittenLine, match: re.Match[str], eyes: tuple[Eye, ...]) -> None:
    """A balance lens matches the other eye's, so the word means nothing where no single eye is named."""
    if len(eyes) > 1:
        said.aside.append(match.group().strip())
        return
    said.balance += [eye for eye in eyes if eye not in said.balance]


def _powers(rest: str, said: WrittenLine, eye: Eye | None) -> dict[Eye, ParsedEyeLine | None]:
    """The powers of what is left, without the words that mean nothing and eyes that have nothing but a name."""
    known = _without_unknown_words(rest, said)
    if eye is not None:
        return {eye: parse_prescription_line(known)} if known.strip(NOTHING_LEFT) else {}
    named = _without_empty_eyes(known)
    if not named.strip(NOTHING_LEFT):
        return {}
    return dict(zip(EYES, parse_prescription(named)))


def _without_unknown_words(text: str, said: WrittenLine) -> str:
    def take(match: re.Match[str]) -> str:
        word = re.match(r"[^\W\d_]+", match.group())
        if word is None or is_known_word(word.group()):
            return match.group()
        if word.group().lower() in SAYS_NOTHING:
            return match.group()[word.end() :].lstrip(":.")
        said.aside.append(match.group().strip())
        return " "

    return _WORD.sub(take, text)


def _without_empty_eyes(text: str) -> str:
    """An eye that had nothing but what was taken out, such as a balance lens, is not read for a power."""
    return _EMPTY_EYE.sub(" ", text)
