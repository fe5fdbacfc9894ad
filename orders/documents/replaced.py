"""What a revision tells the lab: which revision it replaces, and what is different, in words. Pure.

Paper and mail say it from here, so that nobody makes both pairs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from dispensing.choice_words import FRAME_MATERIALS, label
from orders.documents import words
from orders.documents.key_words import key_in_words, value_in_words
from orders.documents.lens_order import Change, LensOrder

POWERS = ("sphere", "cylinder", "add", "intermediate_add")
ARROW = "\N{RIGHTWARDS ARROW}"


@dataclass(frozen=True)
class Replaced:
    """``warning``: the line that nobody may miss. ``changes``: one line a value; without any, nothing for the lab to
    make differs, and ``changes`` says so.
    """

    warning: str
    changes: tuple[str, ...]


def replaced(order: LensOrder) -> Replaced | None:
    """What the order replaces; None for one that replaces nothing."""
    old = order.replaces
    if old is None:
        return None
    which = f"revision {old.revision}" if old.revision is not None else "the earlier revision"
    said = tuple(_line(change) for change in old.changes)
    number = order.number or "this order"
    nothing = ("Nothing that you make is different.",)
    return Replaced(f"REPLACES {which} of {number}, do not make both", said or nothing)


def _line(change: Change) -> str:
    if change.field == "remarks":
        # They stand on the paper itself, may be long, and may say what a mail must not.
        return "The remarks are different: read them on the order"
    what, before, after = cells(change)
    return f"{what}: {before} {ARROW} {after}"


def cells(change: Change) -> tuple[str, str, str]:
    """What changes, and its two values, in words."""
    before, after = (_said(change, value, name) for value, name in _both(change))
    return label(_key(change.field)), before, after


def _both(change: Change) -> tuple[tuple[Any, Any], tuple[Any, Any]]:
    return (change.before, words.extra_of(change, "from_name")), (change.after, words.extra_of(change, "to_name"))


def _key(path: str) -> str:
    """``lenses.right.power.sphere`` → ``right sphere to be made``."""
    made = ".power." in path
    told = key_in_words(path.replace(".extra.", ".").replace(".power.", "."))
    return f"{told} to be made" if made else told


def _said(change: Change, value: Any, name: Any) -> str:
    key = change.field.rpartition(".")[2]
    if change.field in ("lenses.right", "lenses.left"):
        return "not to be made" if value is None else "to be made"
    if isinstance(name, str) and name and value:
        return words.with_code(name, ", ".join(value) if isinstance(value, list) else value)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return next((write(value) for named, write in FIGURES if named(key)), f"{value:g}")
    if key == "needed_on":
        return _day(value)
    if change.field == "frame.extra.material":
        return FRAME_MATERIALS.get(value, value) or words.MISSING
    return value_in_words(change.field.replace(".extra.", "."), value)


def _day(value: Any) -> str:
    try:
        return words.day(date.fromisoformat(value))
    except (TypeError, ValueError):
        return words.MISSING


FIGURES: tuple[tuple[Callable[[str], bool], Callable[[float], str]], ...] = (
    (lambda key: key in POWERS, words.power),
    (lambda key: key == "axis", words.axis),
    (lambda key: key.endswith("_mm"), lambda value: words.figure(value, "mm")),
    (lambda key: key.endswith("_deg"), lambda value: words.figure(value, "°")),
    (lambda key: key.endswith("_d"), words.curve),
)
