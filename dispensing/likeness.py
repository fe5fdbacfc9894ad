"""Which names are nearly the same: one letter in five wrong, or another spelling of the same sound. Pure.

A word is found through its keys: what is left of it when as many letters are taken away as may be wrong. Two words that
differ by so many letters, missing, added, changed or swapped with their neighbour, always share a key, so a database
finds every near word by equality. Sounds are those of Lawrence Philips's Metaphone, which hears English.
"""

from __future__ import annotations

from itertools import combinations

from jellyfish import metaphone
from rapidfuzz.distance import OSA

SHORTEST, LONGEST = 4, 24
"""Letters of a word that is compared: of shorter ones too many are near, and nobody's name is one longer word."""

LONG = 10
"""From so many letters on, two may be wrong."""

SOUND_MARK = "~"


def may_be_misspelt(word: str) -> bool:
    return word.isalpha() and SHORTEST <= len(word) <= LONGEST


def keys_of(word: str) -> set[str]:
    """The keys under which a word that `may_be_misspelt` is kept, and under which near ones are looked for."""
    sound = _sound(word)
    shortened = {
        "".join(letter for place, letter in enumerate(word) if place not in left_out)
        for count in range(_wrong_letters(word) + 1)
        for left_out in combinations(range(len(word)), count)
    }
    return shortened | {SOUND_MARK + sound} if sound else shortened


def distance(ours: str, theirs: str) -> int | None:
    """How many letters differ between two words that are near each other; None if they are not."""
    shorter = min(ours, theirs, key=len)
    allowed = _wrong_letters(shorter)
    if _sound(ours) and _sound(ours) == _sound(theirs):
        allowed = max(allowed, len(shorter) // 3 + 1)
    apart = OSA.distance(ours, theirs, score_cutoff=allowed)
    return apart if apart <= allowed else None


def _wrong_letters(word: str) -> int:
    return 2 if len(word) >= LONG else 1


def _sound(word: str) -> str:
    """Empty where English says nothing of how a word sounds, or too little to tell it from others."""
    code = metaphone(word) if word.isascii() else ""
    return code if len(code) > 1 else ""
