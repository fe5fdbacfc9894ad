"""A figure of all rows at once, seen on one of them: asked whether it is more than a limit, it answers for this row and
notes the answers of all.

So that a rule which only holds a thickness against a limit is asked once for all lenses on the same side of it. It is
no float on purpose: whatever is not written out here, such as a text or a root, needs the figure itself, and then that
is what was read. The arithmetic is numpy's, which for these four is the same to the last bit as Python's. Pure.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable
from typing import Any, Protocol

import numpy as np

from dispensing.optics.arrays import FloatArray
from orders.options.lenses.columns import Column
from orders.options.lenses.reads import Key

Operation = Callable[[Any, Any], Any]


class Notes(Protocol):
    """Where it is noted what was read."""

    number: int

    def note_column(self, key: Key, make: Callable[[], Column]) -> None: ...


class Measured:
    """key: what it is, alike for the same figure; values: of every row, NaN where there is none."""

    __slots__ = ("_key", "_row", "_values")

    def __init__(self, key: Key, values: FloatArray, row: Notes):
        self._key, self._values, self._row = key, values, row

    def _of(self, sign: str, do: Operation, other: Any, turned: bool = False) -> Any:
        parts = _parts(other, self._row)
        if parts is None:
            return NotImplemented
        key, values = parts
        first, second = ((key, values), (self._key, self._values))[:: 1 if turned else -1]
        with np.errstate(all="ignore"):
            return Measured((sign, first[0], second[0]), do(first[1], second[1]), self._row)

    def _asked(self, sign: str, do: Operation, other: Any) -> Any:
        parts = _parts(other, self._row)
        if parts is None:
            return NotImplemented
        key, values = parts
        answers = do(self._values, values)
        self._row.note_column((sign, self._key, key), lambda: Column(answers.astype(np.intp), (False, True)))
        return bool(answers[self._row.number])

    def __float__(self) -> float:
        """The figure itself."""
        self._row.note_column((*self._key, "itself"), lambda: _of_values(self._values))
        return float(self._values[self._row.number])

    def __add__(self, other: Any) -> Any:
        return self._of("+", operator.add, other)

    def __radd__(self, other: Any) -> Any:
        return self._of("+", operator.add, other, turned=True)

    def __sub__(self, other: Any) -> Any:
        return self._of("-", operator.sub, other)

    def __rsub__(self, other: Any) -> Any:
        return self._of("-", operator.sub, other, turned=True)

    def __mul__(self, other: Any) -> Any:
        return self._of("*", operator.mul, other)

    def __rmul__(self, other: Any) -> Any:
        return self._of("*", operator.mul, other, turned=True)

    def __truediv__(self, other: Any) -> Any:
        return float(self) / float(other)

    def __rtruediv__(self, other: Any) -> Any:
        return float(other) / float(self)

    def __neg__(self) -> Measured:
        return Measured(("neg", self._key), -self._values, self._row)

    def __abs__(self) -> Measured:
        return Measured(("abs", self._key), np.abs(self._values), self._row)

    def __lt__(self, other: Any) -> Any:
        return self._asked("<", operator.lt, other)

    def __le__(self, other: Any) -> Any:
        return self._asked("<=", operator.le, other)

    def __gt__(self, other: Any) -> Any:
        return self._asked(">", operator.gt, other)

    def __ge__(self, other: Any) -> Any:
        return self._asked(">=", operator.ge, other)

    def __eq__(self, other: object) -> Any:
        return self._asked("==", operator.eq, other)

    def __ne__(self, other: object) -> Any:
        return self._asked("!=", operator.ne, other)

    def __hash__(self) -> int:
        return hash(float(self))

    def __bool__(self) -> bool:
        return bool(self != 0.0)

    def __round__(self, places: int | None = None) -> Any:
        return round(float(self), places)

    def __floor__(self) -> int:
        return math.floor(float(self))

    def __ceil__(self) -> int:
        return math.ceil(float(self))

    def __int__(self) -> int:
        return int(float(self))

    def __format__(self, how: str) -> str:
        return format(float(self), how)

    def __str__(self) -> str:
        return str(float(self))

    def __repr__(self) -> str:
        return repr(float(self))


def _parts(other: Any, row: Notes) -> tuple[Any, Any] | None:
    """What the other side of an operation is, and its values: a number, or a figure of the same row."""
    if isinstance(other, Measured):
        return (other._key, other._values) if other._row is row else (repr(other), float(other))
    return (repr(other), other) if isinstance(other, int | float) else None


def _of_values(values: FloatArray) -> Column:
    """A column of the values, bit for bit."""
    bits, groups = np.unique(values.view(np.int64), return_inverse=True)
    return Column(groups, bits.view(np.float64).tolist())
