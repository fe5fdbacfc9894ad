"""What a paper says besides the powers: when it was tested and until when it holds, who prescribed it, and for whom."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from dispensing.dates import DateError, written_date
from dispensing.prescribing.paper.figures import read_of
from dispensing.prescribing.paper.pieces import WIDE_GAP, Piece, Row, text_of
from dispensing.prescribing.paper.vocabulary import folded, months
from dispensing.prescribing.paper.words import Read

DATES = ("tested_on", "expires_on", "born_on")
PEOPLE = ("prescriber", "patient")
EITHER_WAY = "Day and month can be read either way; the day was taken to come first."
NOT_NAMED = "Nothing beside this date says what it is the date of."
MORE_THAN_A_NAME = "More than the name may have been read."
LESS_THAN_A_NAME = "Less than the name may have been read."
_MORE = re.compile(r"^[A-ZÀ-Þ]{3,}$|[^\W\d_][a-zà-ÿ]{2,}.*[A-ZÀ-Þ]{3,}\b")
"""Capitals only, after a word or grown onto it, or one alone: a register or a stamp, or a family name."""
_TITLE = re.compile(r"(?:dr|docteur|doktor|prof|dra|dott|dottssa|drs)\b")


@dataclass(frozen=True)
class Facts:
    """What was found, by name: ``tested_on``, ``expires_on``, ``born_on``, ``prescriber``, ``patient``."""

    found: dict[str, Read]


def facts_of(rows: Sequence[Row], month_first: bool | None) -> Facts:
    """``month_first``: how dates in figures are written where the paper comes from; None if that is not known."""
    found: dict[str, Read] = {}
    for name, piece, unsure in _dates(rows):
        if name not in found or (found[name].value is None):
            read = _date(piece, month_first, _is_english(rows), name == "born_on")
            found[name] = replace(read, unsure=read.unsure or unsure)
    for name, read in _people(rows):
        found.setdefault(name, read)
    found.pop("other_date", None)
    return Facts(found)


def _dates(rows: Sequence[Row]) -> Iterator[tuple[str, Piece, str]]:
    """Each date with what it is; a date that nothing names may be that of the test, if it is the only one left."""
    unnamed: list[Piece] = []
    for number, row in enumerate(rows):
        for place, piece in enumerate(row):
            if piece.kind != "date":
                continue
            name = _name_before(row, place) or _name_above(rows, number, piece)
            if name:
                yield name, piece, ""
            else:
                unnamed.append(piece)
    if len(unnamed) == 1:
        yield "tested_on", unnamed[0], NOT_NAMED


def _name_before(row: Row, place: int) -> str:
    """The nearest heading of a date before it on its row, with no other date between."""
    for piece in reversed(row[:place]):
        if piece.kind == "date":
            return ""
        if (name := piece.can_be("fact")) and name not in PEOPLE:
            return name
    return ""


def _name_above(rows: Sequence[Row], number: int, piece: Piece) -> str:
    """A heading right above it, as in a box of a form."""
    for row in rows[max(number - 1, 0) : number]:
        for other in row:
            near = piece.laid[1] - other.laid[1] < 4 * piece.laid[3]
            across = other.laid[0] < piece.laid[0] + piece.laid[2] and piece.laid[0] < other.laid[0] + other.laid[2]
            if near and across and (name := other.can_be("fact")) and name not in PEOPLE:
                return name
    return ""


def _is_english(rows: Sequence[Row]) -> bool:
    """Whether its headings may be English, where 04/05 is read in two ways."""
    said = " ".join(folded(piece.text) for row in rows for piece in row if piece.means)
    return bool(
        re.search(r"\b(right|left|axis|sphere|prescriber|valid until|date of|optometrist|born|tested|dob)\b", said)
    )


def _date(piece: Piece, month_first: bool | None, is_english: bool, of_birth: bool) -> Read:
    text = _in_figures(piece.text, of_birth)
    value, unsure = None, ""
    try:
        value = written_date(text, bool(month_first))
    except DateError as fault:
        unsure = str(fault)
        if month_first is None and (value := _other_order(text)) is not None:
            unsure = ""
    slashed = re.fullmatch(r"(\d{1,2})/(\d{1,2})/\d{4}", text)
    if value and slashed and month_first is None and is_english and _is_either(slashed):
        unsure = EITHER_WAY
    return read_of([piece], value, unsure)


def _is_either(slashed: re.Match[str]) -> bool:
    return max(int(slashed[1]), int(slashed[2])) <= 12 and slashed[1] != slashed[2]


def _other_order(text: str) -> date | None:
    """A date that only makes sense with the month first, where the paper's country is not known."""
    try:
        return written_date(text, month_first=True)
    except DateError:
        return None


def _in_figures(text: str, of_birth: bool) -> str:
    """The date with its month in figures, and its year in four: no test was a hundred years ago, but a birth may be."""
    word = next((found for found in re.findall(r"[^\W\d_]{3,}", text) if folded(found) in months()), None)
    numbers = re.findall(r"\d+", text)
    if word is not None and len(numbers) == 2:
        day, year = numbers if len(numbers[0]) <= 2 else reversed(numbers)
        return f"{day}.{months()[folded(word)]}.{year}"
    tight = re.sub(r"\s+", "", text)
    short = re.fullmatch(r"(\d{1,2}[./-]\d{1,2}[./-])(\d{2})", tight)
    return f"{short[1]}20{short[2]}" if short and not of_birth else tight


def _people(rows: Sequence[Row]) -> Iterator[tuple[str, Read]]:
    for number, row in enumerate(rows):
        for place, piece in enumerate(row):
            name = piece.can_be("fact")
            if name not in PEOPLE or not _begins(row, place):
                continue
            said = _name_after(row, place) or _name_below(rows, number, piece)
            if said:
                yield name, _as_read(said)
    for row in rows:
        if row[0].kind == "word" and _TITLE.match(folded(row[0].text)) and not any(p.can_be("fact") for p in row):
            yield "prescriber", _as_read(_up_to_figures(row))


def _begins(row: Row, place: int) -> bool:
    """Whether a heading is one, and no word of a name: Invented Opticians."""
    return place == 0 or row[place].follows > WIDE_GAP or bool(row[place - 1].means) or row[place - 1].kind != "word"


def _name_after(row: Row, place: int) -> list[Piece]:
    """The words after a heading, up to the next heading or a figure."""
    said: list[Piece] = []
    for number, piece in enumerate(row[place + 1 :], place + 1):
        if not said and piece.text in (":", "-", "(", ")", "/"):
            continue
        if _ends_a_name(piece, said) or (piece.can_be("field") and _has_a_figure_next(row, number)):
            break
        said.append(piece)
    return said if any(piece.kind == "word" for piece in said) else []


def _name_below(rows: Sequence[Row], number: int, piece: Piece) -> list[Piece]:
    for row in rows[number + 1 : number + 2]:
        under = [
            other
            for other in row
            if other.laid[1] - piece.laid[1] < 3 * piece.laid[3] and other.laid[0] >= piece.laid[0] - piece.laid[3]
        ]
        if under and abs(under[0].laid[0] - piece.laid[0]) < piece.laid[3] and under[0].kind == "word":
            return _up_to_figures(under)
    return []


def _up_to_figures(row: Sequence[Piece]) -> list[Piece]:
    said: list[Piece] = []
    for piece in row:
        if _ends_a_name(piece, said):
            break
        said.append(piece)
    return said or list(row[:1])


def _has_a_figure_next(row: Row, place: int) -> bool:
    return any(piece.is_figure for piece in row[place + 1 : place + 3])


def _ends_a_name(piece: Piece, said: Sequence[Piece]) -> bool:
    """A figure, a date, another heading, or a wide gap; single letters that may be headings are initials here."""
    heads = piece.can_be("fact") or (len(piece.text) > 1 and piece.can_be("field") and piece.follows > WIDE_GAP)
    return piece.kind in ("figure", "date") or bool(heads) or (bool(said) and piece.follows > 3)


def _has_a_name(text: str) -> bool:
    """Whether there is more than a title and initials."""
    words = re.findall(r"[^\W\d_]{2,}", folded(text))
    return any(not _TITLE.match(word) for word in words)


def _as_read(pieces: Sequence[Piece]) -> Read:
    text = text_of(pieces).strip(" :,;-")
    unsure = "" if _has_a_name(text) else LESS_THAN_A_NAME
    read = read_of(pieces, text, MORE_THAN_A_NAME if _MORE.search(text) else unsure)
    return replace(read, text=text)
