"""Notes what of a lens's choice a piece of work reads, so that its answer can be given for every lens alike in that.

A rule or a figure that read only the kind of design and the index says the same of every lens of that kind and index.
Nobody has to list what a rule depends on: the parts of the choice note each reading themselves. This module must never
know a rule.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

Key = tuple[Any, ...]
"""What was read: a key of the ordered lens, the design or the material, or a figure of an eye, itself worked out."""


class ReadTooLate(RuntimeError):
    """Something kept from another lens's evaluation read that lens's choice, which says nothing about this one."""


class Reading:
    """One piece of work on one lens, and what it has read so far."""

    __slots__ = ("ended", "read")

    def __init__(self) -> None:
        self.read: set[Key] = set()
        self.ended = False

    def note(self, key: Key) -> None:
        if self.ended:
            raise ReadTooLate(key)
        self.read.add(key)


class NotedPart:
    """A part of a document that notes each of its `varied` keys when it is read, if anybody is to know."""

    __slots__ = ("_name", "_part", "_reading", "_varied")

    def __init__(self, part: Any, name: str, varied: Iterable[str], reading: Reading):
        self._part, self._name, self._varied, self._reading = part, name, varied, reading

    def __getattr__(self, key: str) -> Any:
        if key in self._varied:
            self._reading.note((self._name, key))
        return getattr(self._part, key)

    def __eq__(self, other: object) -> bool:
        """Parts are compared by everything in them, so all of it is read; a part is equal to itself in any row."""
        if other is self:
            return True
        mine, its = self._whole(), other._whole() if isinstance(other, NotedPart) else other
        return bool(mine == its)

    def __hash__(self) -> int:
        return hash(self._whole())

    def _whole(self) -> Any:
        for key in self._varied:
            self._reading.note((self._name, key))
        return self._part
