"""What else than a patient a search can mean. Other apps say so here, for this one knows nothing of their records."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from dispensing.access import can
from dispensing.models import StaffUser
from dispensing.roles import Ability


@dataclass(frozen=True)
class Found:
    """A record in words, its address, and the ability to see it. ``sure``: the text can mean nothing else."""

    words: str
    url: str
    ability: Ability
    sure: bool


Finder = Callable[[str], list[Found]]
_finders: list[Finder] = []


def finder(find: Finder) -> Finder:
    """Mark a function that is given what somebody searches for."""
    if find not in _finders:
        _finders.append(find)
    return find


def found_elsewhere(text: str, person: StaffUser) -> list[Found]:
    """What other apps find that this person may see."""
    if not text.strip():
        return []
    return [found for find in _finders for found in find(text) if can(person, found.ability)]
