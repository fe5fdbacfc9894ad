"""The words of a page as rows of pieces: figures, headings, dates and the rest, each with its place.

A row's words are read as one text, so that it does not matter how a recogniser cut them. Must never decide what a
figure is for.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from dispensing.prescribing.paper.vocabulary import LONGEST_PHRASE, folded, meaning_of, months
from dispensing.prescribing.paper.words import Box, Word, around, part_of

SAME_ROW = 0.5
"""Of the height of a word: centres nearer than this stand on one row."""
WIDE_GAP = 1.6
"""Of the height: a gap from which on words belong to different cells."""

_DASHES = str.maketrans({**dict.fromkeys("\u2212\u2010\u2011\u2012\u2013\u2014\ufe63\uff0d", "-"), "\uff0b": "+"})
_NOT_AFTER = r"(?<![\d.,/+-])"
_DATE = (
    rf"{_NOT_AFTER}\d{{1,2}}\s?(?P<between>[./-])\s?\d{{1,2}}\s?(?P=between)\s?(?:\d{{4}}|\d{{2}})(?![\d,/]|\.\d)"
    r"|(?<!\d)\d{4}[./-]\d{1,2}[./-]\d{1,2}(?!\d)"
    r"|(?<![\d.,])\d{1,2}(?:st|nd|rd|th|er|º)?\.?[ -]?(?:de |di )?[^\W\d_]{3,10}\.?,?[ -]?(?:de |di |del )?"
    r"(?:19|20)\d\d(?!\d)"
    r"|[^\W\d_]{3,10}\.?[ ]?\d{1,2}(?:st|nd|rd|th)?,[ ]?(?:19|20)\d\d(?!\d)"
)
_FRACTION = r"(?<![\d.,/+-])\d{1,2}(?:[.,]\d)?/\d{1,3}(?:[.,]\d)?(?:[+-]\d(?![\d.,]))?(?![\d/]|[.,]\d)"
_PRINT = r"(?<![^\W\d_])[NJ]\.?\s?\d{1,2}(?![\d.,])"
_DECIMALS = r"[.,·](?:125|375|625|875|\d{1,2})"
"""No more than two, but for an eighth: what follows is the next figure, whose gap was not seen."""
_FIGURE = rf"[+-]?\d+(?:{_DECIMALS})?|[+-]?{_DECIMALS}"
_LETTERS = r"[^\W\d_]+(?:[.'’/&+-](?=[^\W\d_])[^\W\d_]+)*\.?"
_EYE = r"(?<![\w.,/+-])(?:0[DSGEUIl1]|O[l1])(?![\w.,/-])"
"""OD, OS, OG, OI and OE as recognisers like to read them."""
_PIECE = re.compile(
    rf"(?P<date>{_DATE})|(?P<eye>(?-i:{_EYE}))|(?P<fraction>{_FRACTION})|(?P<print>{_PRINT})|(?P<figure>{_FIGURE})|(?P<word>{_LETTERS}|[Δδ∆△∞@×°º])"
    r"|(?P<mark>\S)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Piece:
    """``kind``: date, fraction (an acuity), print (near print), figure, word or mark. ``means``: of a word or heading.

    ``mended``: a letter in it was taken for the figure that it looks like. ``follows``: the gap before it, in heights.
    ``crossed``: as of a word.
    """

    kind: str
    text: str
    box: Box
    laid: Box
    confidence: float
    page: int
    means: frozenset[str] = frozenset()
    mended: bool = False
    crossed: bool = False
    follows: float = 99.0

    def can_be(self, kind: str) -> str:
        """The name that this piece can mean of a kind (``eye``, ``field``…); empty if none."""
        return min((one.partition(".")[2] for one in self.means if one.startswith(f"{kind}.")), default="")

    @property
    def centre(self) -> float:
        return self.laid[0] + self.laid[2] / 2

    @property
    def is_figure(self) -> bool:
        return self.kind == "figure"


Row = tuple[Piece, ...]


def rows_of(words: Iterable[Word]) -> list[Row]:
    """The rows of one page from top to bottom, each from left to right."""
    rows: list[list[Word]] = []
    for word in sorted((word for word in words if word.text.strip()), key=_middle):
        near = [row for row in rows[-3:] if _is_on(row, word)]
        if near:
            min(near, key=lambda row: abs(_line(row) - _middle(word))).append(word)
        else:
            rows.append([word])
    ordered = sorted(rows, key=_line)
    return [pieces for row in ordered if (pieces := _pieces(sorted(row, key=lambda word: word.laid[0])))]


def _middle(word: Word) -> float:
    return word.laid[1] + word.laid[3] / 2


def _line(row: Sequence[Word]) -> float:
    return sum(map(_middle, row)) / len(row)


def _is_on(row: Sequence[Word], word: Word) -> bool:
    height = min(word.laid[3], sorted(one.laid[3] for one in row)[len(row) // 2])
    return abs(_line(row) - _middle(word)) < SAME_ROW * height


def _pieces(words: Sequence[Word]) -> Row:
    text, origin = "", []
    last: Word | None = None
    for number, word in enumerate(words):
        if last is not None:
            wide = word.laid[0] - (last.laid[0] + last.laid[2]) > WIDE_GAP * min(word.laid[3], last.laid[3])
            text += "\n" if wide else " "
            origin.append((number - 1, len(last.text)))
        text += word.text
        origin += [(number, place) for place in range(len(word.text))]
        last = word
    mended, changed = mend(text.translate(_DASHES))
    cut = [_piece(match, words, origin, changed) for match in _PIECE.finditer(mended)]
    return tuple(_with_gaps(_named([piece for piece in cut if piece is not None])))


_LOOKS_LIKE = tuple(
    (re.compile("|".join(forms).replace("LETTER", letters)), figure)
    for letters, figure, forms in (
        (
            "[oOQ]",
            "0",
            (
                r"(?<=\d)LETTER(?=[\d.,\s°]|$)",
                r"(?<=[.,])LETTER(?=[\doO])",
                r"(?<![^\W_])LETTER(?=[.,]\d)",
                r"(?<=[.,]\d)LETTER(?!\w)",
            ),
        ),
        ("[lI|]", "1", (r"(?<=\d)LETTER(?=[\d.,\s°]|$)", r"(?<![^\W_])LETTER(?=\d|[.,]\d)", r"(?<=[.,])LETTER(?=\d)")),
        ("[sS]", "5", (r"(?<=\d)LETTER(?=\d)", r"(?<=[.,]\d)LETTER(?!\w)")),
        ("0", "o", (r"(?<![\d.,+-])LETTER(?!ds|dc|sp)(?=[a-z]{2})",)),
        ("[:;]", ".", (r"(?<=\d)LETTER(?=\d\d(?!\d))",)),
    )
)
"""Letters between figures, with the figures that they look like."""


def mend(text: str) -> tuple[str, frozenset[int]]:
    """Letters between figures as the figures they look like, and where that was done."""
    changed: set[int] = set()
    for form, figure in _LOOKS_LIKE:
        changed |= {match.start() for match in form.finditer(text)}
        text = form.sub(figure, text)
    return text, frozenset(changed)


def _piece(
    match: re.Match[str], words: Sequence[Word], origin: list[tuple[int, int]], changed: frozenset[int]
) -> Piece | None:
    text = match.group().strip()
    first, last = match.start(), match.end()
    touched: dict[int, list[int]] = {}
    for number, place in origin[first:last]:
        if place < len(words[number].text):
            touched.setdefault(number, []).append(place)
    if not text or not touched:
        return None
    kind = str(match.lastgroup)
    if kind == "eye":
        kind, text = "word", text.replace("0", "O").replace("l", "I").replace("1", "I")
    spans = [(words[number], min(places), max(places) + 1) for number, places in touched.items()]
    return Piece(
        kind,
        text,
        around(part_of(word.box, start, end, len(word.text)) for word, start, end in spans),
        around(part_of(word.laid, start, end, len(word.text)) for word, start, end in spans),
        min(word.confidence for word, _, _ in spans),
        spans[0][0].page,
        mended=bool(changed & set(range(first, last))),
        crossed=any(word.crossed for word, _, _ in spans),
    )


def _named(pieces: list[Piece]) -> list[Piece]:
    """Words and runs of words that are headings put together and named; a heading never runs across a wide gap."""
    named: list[Piece] = []
    place = 0
    while place < len(pieces):
        size = next((size for size in range(LONGEST_PHRASE, 0, -1) if _phrase(pieces, place, size)), 0)
        run = pieces[place : place + max(size, 1)]
        named.append(_together(run, _phrase(pieces, place, size)) if size else run[0])
        place += max(size, 1)
    return named


def _phrase(pieces: list[Piece], place: int, size: int) -> frozenset[str]:
    run = pieces[place : place + size]
    if len(run) < size or any(piece.kind not in ("word", "mark") for piece in run) or run[0].kind != "word":
        return frozenset()
    if any(gap_between(one, other) > WIDE_GAP for one, other in pairwise(run)):
        return frozenset()
    for joint in (" ", ""):
        if found := meaning_of(joint.join(piece.text for piece in run), exactly=not joint and size > 1):
            return found
    return frozenset()


def gap_between(one: Piece, other: Piece) -> float:
    """The gap between two neighbours, in heights of the lower one."""
    gap = other.laid[0] - (one.laid[0] + one.laid[2])
    return gap / max(min(one.laid[3], other.laid[3]), 1.0)


def _together(run: list[Piece], means: frozenset[str]) -> Piece:
    return Piece(
        "word",
        " ".join(piece.text for piece in run),
        around(piece.box for piece in run),
        around(piece.laid for piece in run),
        min(piece.confidence for piece in run),
        run[0].page,
        means,
        crossed=any(piece.crossed for piece in run),
    )


def _with_gaps(pieces: list[Piece]) -> Iterable[Piece]:
    last: Piece | None = None
    for piece in pieces:
        gap = 99.0 if last is None else gap_between(last, piece)
        yield replace(piece, kind=_kind(piece), follows=gap)
        last = piece


def _kind(piece: Piece) -> str:
    """A date with a word for a month that is none is no date; it keeps its text."""
    if piece.kind != "date" or not re.search(r"[^\W\d_]{3}", piece.text):
        return piece.kind
    words = re.findall(r"[^\W\d_]{3,}", piece.text)
    return "date" if any(folded(word) in months() for word in words) else "mark"


def text_of(pieces: Iterable[Piece]) -> str:
    """The pieces as written, a space where there is a gap."""
    text = ""
    for piece in pieces:
        text += (" " if text and piece.follows > 0.15 else "") + piece.text
    return text
