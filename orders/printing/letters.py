"""The letters that our print font has, and readable substitutes for those it lacks.

A name in a script that the font does not cover would print as boxes; written in Latin letters it can be read, and
the person telephoned. The exact text stays in the attached document. The font consulted is fixed, so that the same
order prints the same on every machine.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import fields, is_dataclass, replace
from functools import lru_cache
from typing import Any, TypeVar

from anyascii import anyascii
from fontTools.ttLib import TTFont

from dispensing.bootstrap.system_packages import dejavu_sans

Content = TypeVar("Content")
# Words are broken here and not by the page: breaking anywhere makes WeasyPrint measure every letter in every table.
LONG_WORD = re.compile(r"\S{16}(?=\S)")


@lru_cache(maxsize=1)
def covered_letters() -> frozenset[int]:
    """Code points that DejaVu Sans has a glyph for."""
    path = dejavu_sans()
    if path is None:
        return frozenset(range(0x20, 0x7F))
    with TTFont(path, lazy=True) as font:
        return frozenset(font.getBestCmap())


def printable(text: str) -> str:
    """The text with every letter that the font lacks transcribed and control characters removed."""
    covered = covered_letters()
    if all(ord(letter) in covered or letter == "\n" for letter in text):
        return text
    composed = unicodedata.normalize("NFC", text)
    return "".join(_stand_in(letter, covered) for letter in composed)


def _stand_in(letter: str, covered: frozenset[int]) -> str:
    if letter == "\n" or ord(letter) in covered:
        return letter
    kind = unicodedata.category(letter)
    if kind.startswith("C") or kind.startswith("M"):
        return ""
    return anyascii(letter) or "?"


def breakable(text: str) -> str:
    """The text with invisible break points at intervals in any word too long for a column."""
    return LONG_WORD.sub("\\g<0>\u200b", text)


def all_printable(content: Content) -> Content:
    """The same content with every text in it printable and breakable, also in dataclasses, tuples, lists and dicts."""
    result: Any = content
    if isinstance(content, str):
        result = breakable(printable(content))
    elif isinstance(content, tuple | list):
        result = type(content)(all_printable(item) for item in content)
    elif isinstance(content, dict):
        result = {key: all_printable(value) for key, value in content.items()}
    elif is_dataclass(content) and not isinstance(content, type):
        result = replace(content, **{f.name: all_printable(getattr(content, f.name)) for f in fields(content)})
    shown: Content = result
    return shown
