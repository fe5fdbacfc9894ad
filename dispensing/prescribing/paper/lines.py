"""One eye's figures in a line without a table: by the words before them, and where there are none by their order.

The order is the trade's: sphere, cylinder, axis. Must never know whose eye it is, nor what a figure means.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from dispensing.prescribing.paper.columns import Cell
from dispensing.prescribing.paper.pieces import Piece

ORDER = ("sphere", "cylinder", "axis")
WHOLE_LINE = ("prism", "prism_horizontal", "prism_vertical", "acuity", "near_acuity", "unaided", "pd", "near_pd")
"""Fields of more than one piece: all up to the next heading."""
ACUITIES = {"fraction": "acuity", "print": "near_acuity"}


def is_value(piece: Piece) -> bool:
    """Whether it may stand for a figure: a number, an acuity or plano."""
    return piece.kind in ("figure", "fraction", "print") or piece.can_be("word") == "plano" or piece.text == "∞"


@dataclass
class LineOfFigures:
    """Reads the pieces of one eye from left to right. ``found``: field and pieces; ``left``: what has no place."""

    pieces: Sequence[Piece]
    label: str = ""
    found: list[tuple[str, Cell]] = field(default_factory=list)
    left: list[Piece] = field(default_factory=list)
    _next: int = 0
    _at: int = 0

    def read(self) -> LineOfFigures:
        while self._at < len(self.pieces):
            piece = self.pieces[self._at]
            if piece.kind in ACUITIES and self.label not in WHOLE_LINE:
                self._put(self.label or ACUITIES[piece.kind], 1)
            elif self._is_heading(piece):
                self._heading(piece)
            elif is_value(piece) or self._is_sign():
                self._figure()
            elif piece.can_be("word") == "no_cylinder" and self._next == 1:
                self._put("cylinder", 1)
                self._next = 3
            else:
                self._at += 1
        return self

    def _is_heading(self, piece: Piece) -> bool:
        name = piece.can_be("field")
        if not name or piece.kind != "word":
            return False
        if piece.can_be("word") == "no_cylinder" and self._next == 1:
            ahead = self._ahead(1)
            return ahead is not None and is_value(ahead)
        return True

    def _heading(self, piece: Piece) -> None:
        self._at += 1
        self.label = piece.can_be("field")
        if self.label in WHOLE_LINE:
            self._gather()

    def _gather(self) -> None:
        """All pieces up to the next heading belong to this field."""
        start = self._at
        while self._at < len(self.pieces):
            piece = self.pieces[self._at]
            name = piece.can_be("field") if piece.kind == "word" else ""
            with_a_prism = self.label.startswith("prism") and (name in ("base", "axis") or piece.can_be("base"))
            if name and not with_a_prism:
                break
            if piece.follows > 3 and self._at > start and not is_value(piece):
                break
            self._at += 1
        if any(is_value(piece) or piece.kind == "word" for piece in self.pieces[start : self._at]):
            self.found.append((self.label, tuple(self.pieces[start : self._at])))
        self.label = ""

    def _is_sign(self) -> bool:
        ahead = self._ahead(1)
        return (
            self.pieces[self._at].text in "+-" and ahead is not None and ahead.is_figure and ahead.text[0] not in "+-"
        )

    def _figure(self) -> None:
        size = 2 if self._is_sign() else 1
        after = self._ahead(size)
        is_word = after is not None and after.kind == "word" and self.label not in ("pd", "near_pd", "vertex", "add")
        if is_word and after is not None and (after.can_be("base") or after.can_be("word") == "prism_unit"):
            self._prism(size)
            return
        if self.label:
            if self.label in ORDER:
                self._next = ORDER.index(self.label) + 1
            self._put(self.label, size)
            return
        self._by_order(size)

    def _prism(self, size: int) -> None:
        end = self._at + size
        while end < len(self.pieces) and (
            self.pieces[end].can_be("base")
            or self.pieces[end].can_be("word") in ("prism_unit", "unit")
            or self.pieces[end].can_be("field") == "base"
        ):
            end += 1
        self._put("prism", end - self._at)

    def _by_order(self, size: int) -> None:
        piece = self.pieces[self._at + size - 1]
        if self._in_brackets(size) and self._next <= 1:
            self._put("cylinder", size)
            self._next = 2 if any(name == "sphere" for name, _ in self.found) else self._next
        elif re.fullmatch(r"\d{1,3}", piece.text) and size == 1 and self._says_degrees():
            self._put("axis", 1)
        elif not piece.text.isdigit() and all(name != "sphere" for name, _ in self.found):
            self._put("sphere", size)
            self._next = max(self._next, 1)
        elif self._next < len(ORDER) and not (self._next == 2 and not re.fullmatch(r"\d{1,3}", piece.text)):
            name = ORDER[self._next]
            if any(taken == name for taken, _ in self.found):
                self._next += 1
                self._by_order(size)
                return
            self._put(name, size)
            self._next += 1
        else:
            self.left.append(piece)
            self._at += size

    def _in_brackets(self, size: int) -> bool:
        before = self.pieces[self._at - 1] if self._at else None
        return before is not None and before.text == "("

    def _says_degrees(self) -> bool:
        after = self._ahead(1)
        return after is not None and after.text in "°º"

    def _ahead(self, steps: int) -> Piece | None:
        place = self._at + steps
        return self.pieces[place] if place < len(self.pieces) else None

    def _put(self, name: str, size: int) -> None:
        self.found.append((name, tuple(self.pieces[self._at : self._at + size])))
        self._at += size
        self.label = ""
