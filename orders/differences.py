"""What differs between two versions of a draft, in words: for whoever saved second, and for the audit trail."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from orders.documents.key_words import DASH, key_in_words, value_in_words
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import EYES
from orders.rules.registry import title_of

DOCUMENT_KEYS = {"frame_source": "frame.source", "registered": "ordered_by"}
"""Columns of a draft that have another name in the document."""

LENS_KEYS = (
    "design",
    "material",
    "corridor_mm",
    "blank_mm",
    "treatments",
    "base_curve_d",
    "centre_thickness_mm",
    "colour",
    "instruction",
    "edge",
)
NOT_TOLD = ("catalogue", "version", "saved_by", "saved_at")


@dataclass(frozen=True, slots=True)
class Difference:
    """One field in words, with its two values in words."""

    field: str
    before: str
    after: str


def differences(fields: Mapping[str, tuple[Any, Any]], catalogue: LensCatalogue | None) -> Iterator[Difference]:
    """One for each field that differs. ``fields``: columns of a draft, each before and after."""
    for name, (before, after) in fields.items():
        if name in NOT_TOLD:
            continue
        if name == "lenses":
            yield from _of_lenses(before or {}, after or {}, catalogue)
        elif name == "kept_lens":
            yield from _of_part("kept_lens", before or {}, after or {}, catalogue)
        elif name == "lifted":
            yield _told(name, _settled(before), _settled(after))
        else:
            key = DOCUMENT_KEYS.get(name, name)
            yield _told(key, value_in_words(key, before), value_in_words(key, after))


def told_of(fields: Mapping[str, tuple[Any, Any]], catalogue: LensCatalogue | None) -> dict[str, list[str | None]]:
    """Old and new value of each column in words, for the audit trail: what a catalogue's code means may change."""
    told = {name: list(differences({name: values}, catalogue)) for name, values in fields.items()}
    return {name: _both_values(name, parts) for name, parts in told.items() if parts}


def _both_values(column: str, parts: list[Difference]) -> list[str | None]:
    if column in ("lenses", "kept_lens"):
        before = "; ".join(f"{part.field}: {part.before}" for part in parts)
        return [before, "; ".join(f"{part.field}: {part.after}" for part in parts)]
    return [None if text == DASH else text for text in (parts[0].before, parts[0].after)]


def _told(key: str, before: str, after: str) -> Difference:
    return Difference(key_in_words(key), before, after)


def _of_lenses(before: dict[str, Any], after: dict[str, Any], catalogue: LensCatalogue | None) -> Iterator[Difference]:
    for eye in EYES:
        old, new = before.get(eye), after.get(eye)
        if (old is None) != (new is None):
            yield _told(f"lenses.{eye}", _made(old), _made(new))
        yield from _of_part(f"lenses.{eye}", old or {}, new or {}, catalogue)


def _of_part(
    part: str, before: dict[str, Any], after: dict[str, Any], catalogue: LensCatalogue | None
) -> Iterator[Difference]:
    for path, old, new in ((f"{part}.{key}", before.get(key), after.get(key)) for key in LENS_KEYS):
        if old != new:
            yield _told(path, value_in_words(path, old, catalogue), value_in_words(path, new, catalogue))


def _made(lens: Any) -> str:
    return "to be made" if lens is not None else "not to be made"


def _settled(entries: Any) -> str:
    """What was lifted or confirmed, by the titles of the rules."""
    return "; ".join(title_of(entry.get("rule", "")) for entry in entries or ()) or DASH
