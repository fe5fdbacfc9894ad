"""When two people save the same draft: the differences between their versions, in words, for the second to decide."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from dispensing.choice_words import label
from dispensing.services.meanwhile import Values
from orders.documents.key_words import DASH, key_in_words, value_in_words
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import EYES
from orders.facts import catalogue_of
from orders.models import Order
from orders.rules.registry import rule_by_id

DOCUMENT_KEYS = {"frame_source": "frame.source"}
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
)
NOT_SHOWN = ("catalogue", "version", "saved_by", "saved_at")


def differences(current: Order, fields: Values) -> list[dict[str, str]]:
    """One row for each field that differs between the two versions. ``current``: the order as now saved."""
    catalogue = catalogue_of(current)
    rows: list[dict[str, str]] = []
    for name, (theirs, mine) in fields.items():
        if name in NOT_SHOWN:
            continue
        if name == "lenses":
            rows += _lens_rows(mine or {}, theirs or {}, catalogue)
        elif name == "kept_lens":
            rows += _part_rows("kept_lens", mine or {}, theirs or {}, LENS_KEYS, catalogue)
        elif name == "lifted":
            rows.append(_row(name, _settled(mine), _settled(theirs)))
        else:
            key = DOCUMENT_KEYS.get(name, name)
            rows.append(_row(key, value_in_words(key, mine), value_in_words(key, theirs)))
    return rows


def _row(key: str, mine: str, theirs: str) -> dict[str, str]:
    return {"label": label(key_in_words(key)), "mine": mine, "theirs": theirs}


def _lens_rows(
    mine: dict[str, Any], theirs: dict[str, Any], catalogue: LensCatalogue | None
) -> Iterator[dict[str, str]]:
    for eye in EYES:
        ours, other = mine.get(eye), theirs.get(eye)
        if (ours is None) != (other is None):
            yield _row(f"lenses.{eye}", _made(ours), _made(other))
        else:
            yield from _part_rows(f"lenses.{eye}", ours or {}, other or {}, LENS_KEYS, catalogue)


def _part_rows(
    part: str, mine: dict[str, Any], theirs: dict[str, Any], keys: tuple[str, ...], catalogue: LensCatalogue | None
) -> Iterator[dict[str, str]]:
    for path, ours, other in ((f"{part}.{key}", mine.get(key), theirs.get(key)) for key in keys):
        if ours != other:
            yield _row(path, value_in_words(path, ours, catalogue), value_in_words(path, other, catalogue))


def _made(lens: Any) -> str:
    return "to be made" if lens is not None else "not to be made"


def _settled(entries: Any) -> str:
    """What was lifted or confirmed, by the titles of the rules."""
    rules = [(entry.get("rule", ""), rule_by_id(entry.get("rule", ""))) for entry in entries or ()]
    return "; ".join(rule.title if rule else id for id, rule in rules) or DASH
