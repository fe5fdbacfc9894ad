"""The trade's words on paper, in the languages of ``headings.toml``: what a heading or a word can mean."""

from __future__ import annotations

import tomllib
import unicodedata
from collections import defaultdict
from functools import cache, lru_cache
from pathlib import Path

from rapidfuzz.distance.Levenshtein import distance

_FILE = Path(__file__).with_name("headings.toml")
_DROPPED = str.maketrans("", "", ".·'’`´")
_MONTHS = "month"


def folded(text: str) -> str:
    """How words are compared: without case, accents, dots and apostrophes, one space apart."""
    plain = unicodedata.normalize("NFKD", text.casefold().replace("œ", "oe"))
    kept = "".join(c for c in plain if not unicodedata.combining(c))
    return " ".join(kept.translate(_DROPPED).split())


@cache
def meanings() -> dict[str, frozenset[str]]:
    """Each phrase, folded, with what it can mean: ``eye.right``, ``field.axis``, ``fact.born_on``, ``base.in``."""
    found: dict[str, set[str]] = defaultdict(set)
    for kind, groups in tomllib.loads(_FILE.read_text(encoding="utf-8")).items():
        for name, phrases in groups.items():
            for phrase in phrases if kind != _MONTHS else ():
                found[folded(phrase)].add(f"{kind}.{name}")
    return {phrase: frozenset(means) for phrase, means in found.items()}


@cache
def months() -> dict[str, int]:
    """The names of months, folded, with their number."""
    table = tomllib.loads(_FILE.read_text(encoding="utf-8"))[_MONTHS]
    return {folded(word): int(number) for number, words in table.items() for word in words}


def meaning_of(phrase: str, exactly: bool = False) -> frozenset[str]:
    """What a phrase can mean, one letter of a long one being read wrongly; empty if it is no heading."""
    plain = folded(phrase)
    near = len(plain) >= LONG and not exactly
    return meanings().get(plain) or (_nearly(plain) if near else frozenset())


@lru_cache(maxsize=4096)
def _nearly(plain: str) -> frozenset[str]:
    near = [known for known in meanings() if len(known) >= LONG and distance(plain, known, score_cutoff=1) <= 1]
    means = {meanings()[known] for known in near}
    return means.pop() if len(means) == 1 else frozenset()


LONG = 8
"""Letters from which on one may be wrong."""
LONGEST_PHRASE = 5
"""Words in the longest heading."""
