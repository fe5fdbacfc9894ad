"""Reads one eye's line of a prescription token by token, in the order in which such lines are written.

    line     = sphere [cylinder axis] {add | prism}
    sphere   = [label] signed power [unit] | plano
    cylinder = [/] [label] signed power [unit]
    axis     = [x | @ | * | / | ax | axis] whole degrees
    add      = "add" power            (an add is plus by convention and may stand without its sign)
    prism    = amount [Δ] base        (base in, BI, in ...)

This module must never guess what is not written, and never know that there are two eyes (see notation).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from dispensing.optics.conventions import Base
from dispensing.optics.notation_tokens import (
    Missing,
    NotationError,
    Token,
    WrittenNumber,
    read_axis,
    read_power,
    read_prism_amount,
    tokens,
)

PLANO = {"plano", "pl", "plan", "pln"}
SPHERE_LABELS = {"sph", "sphere", "s"}
SPHERE_UNITS = {"d", "ds", "dsph", "sph", "sphere", "dpt"}
CYLINDER_LABELS = {"cyl", "cylinder", "c"}
CYLINDER_UNITS = {"d", "dc", "dcyl", "cyl", "dpt"}
AXIS_MARKS = {"x", "@", "*", "/", "ax", "axis", "a"}
ADD_WORDS = {"add", "ad", "addition"}
PRISM_WORDS = {"prism", "prisms", "prismatic"}
PRISM_UNITS = {"pd", "prism", "p", "d", "dioptre", "dioptres", "diopter", "diopters"}
SEPARATORS = {"/", ",", ";", "&", "and", "with", "(", ")", ":", "=", "."}
BASES: dict[str, Base] = {
    **dict.fromkeys(("bu", "up", "u"), "up"),
    **dict.fromkeys(("bd", "down", "dn"), "down"),
    **dict.fromkeys(("bi", "in", "i"), "in"),
    **dict.fromkeys(("bo", "out", "o"), "out"),
}
KNOWN_WORDS = frozenset().union(
    PLANO,
    SPHERE_LABELS | SPHERE_UNITS,
    CYLINDER_LABELS | CYLINDER_UNITS,
    AXIS_MARKS | ADD_WORDS,
    PRISM_WORDS | PRISM_UNITS | {"base"},
    SEPARATORS,
    BASES,
)
"""Every word that a line may hold."""


@dataclass(frozen=True, slots=True)
class WrittenPrism:
    """A prism as written: amount in Δ and base."""

    amount: float
    base: Base


@dataclass(frozen=True, slots=True)
class ParsedEyeLine:
    """One eye of a written prescription.

    sphere, cylinder and add in D, axis in whole degrees (None without cylinder), prisms in Δ; `notes` says in plain
    words what was read differently from how it was written.
    """

    sphere: float
    cylinder: float = 0.0
    axis: int | None = None
    add: float | None = None
    prisms: tuple[WrittenPrism, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(slots=True)
class LineReader:
    """Reads one eye's line from its tokens, front to back."""

    text: str
    rest: list[Token] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.rest = tokens(self.text)

    def line(self) -> ParsedEyeLine:
        """The whole line; raises NotationError for anything left unread."""
        sphere = self._sphere()
        cylinder, axis, notes = self._cylinder_and_axis()
        add: float | None = None
        prisms: list[WrittenPrism] = []
        self._skip(SEPARATORS)
        while self.rest:
            if self._take(ADD_WORDS):
                if add is not None:
                    raise NotationError("add", "written twice", "", "one add an eye")
                add = self._add()
            else:
                prisms.append(self._prism())
            self._skip(SEPARATORS)
        return ParsedEyeLine(sphere, cylinder, axis, add, tuple(prisms), notes)

    def _sphere(self) -> float:
        self._skip(SEPARATORS)
        if self._take(SPHERE_LABELS):
            self._skip({":", "="})
        if self._take(PLANO):
            self._skip(SPHERE_UNITS)
            return 0.0
        written = self._number("sphere", "a signed power or plano", "sphere")
        sphere = read_power(written, "sphere")
        self._take(SPHERE_UNITS)
        return sphere

    def _cylinder_and_axis(self) -> tuple[float, int | None, tuple[str, ...]]:
        self._skip({"/", ",", ";", "("})
        labelled = self._take(CYLINDER_LABELS)
        self._skip({":", "="})
        if not labelled and self._names_an_axis():
            raise NotationError(
                "cylinder",
                None,
                "D",
                "a signed power before the axis",
                "An axis is written but no cylinder.",
                "cylinder",
            )
        if not labelled and (not isinstance(self._next(), WrittenNumber) or self._is_prism()):
            return 0.0, None, ()
        cylinder = read_power(self._number("cylinder", "a signed power", "cylinder"), "cylinder")
        self._take(CYLINDER_UNITS)
        return self._axis_of(cylinder)

    def _axis_of(self, cylinder: float) -> tuple[float, int | None, tuple[str, ...]]:
        self._skip({",", ";"})
        marked = False
        while self._take(AXIS_MARKS) or (marked and self._take({":", "="})):
            marked = True
        ahead = self._next()
        if isinstance(ahead, WrittenNumber) and (marked or not self._is_prism()):
            self.rest.pop(0)
            axis, notes = read_axis(ahead)
            return cylinder, axis if cylinder else None, notes if cylinder else ()
        if cylinder == 0.0 and not marked:
            return 0.0, None, ()
        raise NotationError(
            "axis",
            None,
            "deg",
            "a whole number from 1 to 180 after the cylinder",
            "A cylinder needs its axis.",
            "axis",
        )

    def _add(self) -> float:
        self._skip({":", "=", "."})
        add = read_power(self._number("add", "a power, as in 2.00", "amount"), "add", sign_needed=False)
        if add < 0.0:
            raise NotationError("add", f"{add:.2f}", "D", "a plus power", "An add is never minus.")
        self._take({"d", "dpt", "ds"})
        return add

    def _prism(self) -> WrittenPrism:
        self._take(PRISM_WORDS)
        self._skip({":", "="})
        if not isinstance(self._next(), WrittenNumber):
            raise NotationError(
                "prescription",
                self._spelling(),
                "",
                "sphere, cylinder x axis, add, prism with its base",
                "This part of the line was not understood.",
            )
        written = self._number("prism", "an amount", "amount")
        amount = read_prism_amount(written)
        # "2 D" alone could be two dioptres of prism or base down: only a following base settles it.
        while self._take(PRISM_UNITS):
            pass
        return WrittenPrism(amount, self._base(written))

    def _base(self, amount: WrittenNumber) -> Base:
        self._take({"base"})
        word = self._next()
        if not isinstance(word, str) or word not in BASES:
            raise NotationError(
                "prism base",
                None if word is None else self._spelling(),
                "",
                "in, out, up or down",
                f"The number {amount.text} must be followed by the base of a prism, or be told apart as an add.",
                "base",
            )
        self.rest.pop(0)
        return BASES[word]

    def _number(self, quantity: str, allowed: str, missing: Missing) -> WrittenNumber:
        ahead = self._next()
        if isinstance(ahead, WrittenNumber):
            self.rest.pop(0)
            return ahead
        if ahead in ("+", "-"):
            raise NotationError(
                quantity, self._spelling(), "", allowed, "Write the sign directly before its number.", "sign"
            )
        found = None if ahead is None else self._spelling()
        raise NotationError(quantity, found, "", allowed, missing=missing)

    def _next(self) -> Token | None:
        return self.rest[0] if self.rest else None

    def _take(self, words: set[str]) -> bool:
        if isinstance(self._next(), str) and self.rest[0] in words:
            self.rest.pop(0)
            return True
        return False

    def _skip(self, words: set[str]) -> None:
        while self._take(words):
            pass

    def _names_an_axis(self) -> bool:
        return self._next() in ("x", "@", "*", "ax", "axis", "a")

    def _is_prism(self) -> bool:
        """Whether the number ahead is followed by a prism's unit or base."""
        after = self.rest[1] if len(self.rest) > 1 else None
        return isinstance(after, str) and (after in BASES or after in {"pd", "prism", "base", "p"})

    def _spelling(self) -> str:
        return " ".join(part if isinstance(part, str) else part.text for part in self.rest[:4])
