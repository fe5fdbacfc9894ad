"""Reading free text for what must not stay there: symptoms, dangers of work and play, and figures that have a field.

The words are in ``data/remark_words.toml``. What a remark says is told with the words found and the figure stated; what
that means for an order, and whether the order says the same, is for the reader. Must never know an order.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, get_args

from dispensing.trade.facts import Origin, data_file

Kind = Literal["doctor", "hazard", "order", "lab", "wearer"]
KINDS: tuple[Kind, ...] = get_args(Kind)

SENTENCES = re.compile(r"[.;!?]+(?=\s|$)|\n+")
CLAUSES = re.compile(r",(?!\d)|\bbut\b|\bhowever\b", re.IGNORECASE)
SHORTER_CLAUSES = re.compile(r",|\b(?:but|and|so|although|though)\b", re.IGNORECASE)
"""Of what the wearer is like: “does not drive and falls” says one thing and denies the other."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """One row of the table. ``agrees``: the part of the order that may say the same; empty if no part can."""

    kind: Kind
    about: str
    words: re.Pattern[str]
    harmless: re.Pattern[str] | None
    question: str
    agrees: str
    of_remakes: bool


@dataclass(frozen=True, slots=True)
class Mention:
    """``said``: the words found, at ``span`` of ``sentence``. ``value``: the figure stated, signed as written."""

    meaning: Meaning
    said: str
    value: float | None
    sentence: str
    span: tuple[int, int]


def mentions(text: str | None, kind: Kind) -> list[Mention]:
    """What the text says of this kind, in the order of the table: each thing once, and no words for two things."""
    found: list[Mention] = []
    for meaning in meanings(kind) if text else ():
        if all(meaning.about != one.meaning.about for one in found):
            found.extend(next(([one] for one in _found(text or "", meaning) if not _taken(one, found)), []))
    return found


def said_of_the_wearer(text: str, about: str) -> list[Mention]:
    """Each place where the text says this of the wearer, in its order."""
    return [one for meaning in meanings("wearer") if meaning.about == about for one in _found(text, meaning)]


def _taken(mention: Mention, found: list[Mention]) -> bool:
    """Whether another row has already read some of these words."""
    (first, last), same = mention.span, [one.span for one in found if one.sentence == mention.sentence]
    return mention.meaning.kind == "order" and any(first < end and start < last for start, end in same)


def origin() -> Origin:
    """Where the words come from."""
    return Origin.of(data_file("remark_words"))


@cache
def meanings(kind: Kind) -> tuple[Meaning, ...]:
    table = data_file("remark_words")
    return tuple(_meaning(row, table["unless"][kind]) for row in table["row"] if row["kind"] == kind)


def _meaning(row: dict[str, Any], unless: str) -> Meaning:
    harmless = "|".join(part for part in (unless, row.get("unless", "")) if part)
    return Meaning(
        kind=row["kind"],
        about=row["about"],
        words=re.compile(_in_full(row["words"]), re.IGNORECASE),
        harmless=re.compile(harmless, re.IGNORECASE),
        question=row.get("question", ""),
        agrees=row.get("agrees", ""),
        of_remakes=row.get("of_remakes", False),
    )


def _in_full(words: str) -> str:
    for name, meant in data_file("remark_words")["shorthand"].items():
        words = words.replace(f"%{name}%", meant)
    return words


def _found(text: str, meaning: Meaning) -> Iterator[Mention]:
    for sentence in filter(None, (part.strip() for part in SENTENCES.split(text))):
        for match in meaning.words.finditer(sentence):
            around = _around(meaning.kind, sentence, match)
            if not (meaning.harmless and meaning.harmless.search(around)):
                yield Mention(meaning, match.group().strip(), _value(match), sentence, match.span())


def _around(kind: Kind, sentence: str, match: re.Match[str]) -> str:
    """Where words stand that make those found harmless."""
    if kind == "wearer":
        return SHORTER_CLAUSES.split(sentence[: match.start()])[-1]
    return _clause(sentence, match) if kind == "doctor" else sentence


def _clause(sentence: str, match: re.Match[str]) -> str:
    """The words found with the rest of their clause: a symptom that is denied must not hide the next one."""
    before = [one.end() for one in CLAUSES.finditer(sentence) if one.end() <= match.start()]
    after = [one.start() for one in CLAUSES.finditer(sentence) if one.start() >= match.end()]
    return sentence[max(before, default=0) : min(after, default=len(sentence))]


def _value(match: re.Match[str]) -> float | None:
    stated = next((text for name, text in match.groupdict().items() if text and name.startswith("value")), None)
    if stated is None:
        return None
    sign = -1.0 if re.match(r"[-−–]|minus", stated, re.IGNORECASE) else 1.0
    return sign * float(re.sub(r"[^\d.,]", "", stated).replace(",", "."))
