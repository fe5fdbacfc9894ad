"""The verdict on a finished pair in words: one figure, what stands against the whole, and a stored reading's reasons.

It decides nothing.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass

from dispensing.presentation.figures import axis, figure, power_text
from orders.documents.finished_pair import FinishedVerdict, Quantity, VerdictItem
from orders.models import FinishedReading
from orders.verification.found import HALF_TURN

LEVELS = {"pass": "clear", "borderline": "ask", "fail": "stop"}
RESULT_WORDS = {"pass": "Pass", "borderline": "Borderline", "fail": "Fail"}
VERDICTS = {
    "accept": ("clear", "As ordered"),
    "measure_again": ("ask", "Measure again"),
    "return": ("stop", "Not as ordered"),
}
AS_ORDERED_BUT = ("ask", "Figures as ordered, but with a defect")
NOTHING_READ = ("note", "Nothing is read yet")
QUANTITY_WORDS: dict[Quantity, str] = {
    "meridian_high": "stronger meridian",
    "meridian_low": "weaker meridian",
    "cylinder": "cylinder",
    "axis": "axis",
    "add": "add",
    "prism_horizontal": "horizontal prism",
    "prism_vertical": "vertical prism",
    "height": "height",
    "heights_pair": "heights against each other",
    "pd": "PD",
    "centre_thickness": "centre thickness",
    "base_curve": "base curve",
}


@dataclass(frozen=True)
class Said:
    """One figure's verdict in words. figures: ordered and found, where the row itself does not say them."""

    level: str
    word: str
    figures: str
    limit: str
    source: str
    from_memory: bool
    own: str


def said_of(item: VerdictItem, *, named: bool) -> Said:
    extra = item.extra or {}
    unit = str(extra.get("unit", ""))
    both = f"{value_in_words(item, item.ordered)} → {value_in_words(item, item.found)}"
    own = extra.get("own_limit")
    words = f"{QUANTITY_WORDS[item.quantity]} " if named else ""
    return Said(
        level=LEVELS[item.result],
        word=RESULT_WORDS[item.result],
        figures=f"{words}{both}" if named else _off(item),
        limit=f"±{_size(item.tolerance or 0.0)}{'' if unit == '°' else ' '}{unit}",
        source=f"{extra.get('limit')}: {extra.get('source')}",
        from_memory=bool(extra.get("caution")),
        own=f"here {own['here']}, in the standard {own['standard']}" if own else "",
    )


def _off(item: VerdictItem) -> str:
    """How far it is off and which way, in its own unit: found less ordered."""
    extra = item.extra or {}
    error, unit = float(extra.get("error", 0.0)), str(extra.get("unit", ""))
    if not error:
        return "exact"
    places = 0 if unit == "°" else 1 if unit == "mm" else 2
    sign = "+" if error > 0.0 else ""
    return f"{sign}{figure(error, places)}{'' if unit == '°' else ' '}{unit}"


def _size(value: float) -> str:
    return f"{round(value, 2):g}"


def value_in_words(item: VerdictItem, value: float | None) -> str:
    if value is None:
        return "–"
    unit = (item.extra or {}).get("unit")
    if unit == "D" and item.quantity != "base_curve":
        return power_text(value)
    if unit == "°":
        return axis(value % HALF_TURN or HALF_TURN)
    return f"{figure(value, 2 if unit == 'Δ' else 1)} {unit}"


def verdict_level(result: str) -> str:
    """The level of a stored verdict: clear, ask, stop."""
    return VERDICTS[result][0]


def verdict_reasons(reading: FinishedReading) -> list[str]:
    """What stood against a pair that was read."""
    return list(reasons_of(FinishedVerdict.model_validate_json(json.dumps(reading.verdict))))


def reasons_of(verdict: FinishedVerdict) -> Iterator[str]:
    """What stands against the pair, worst first: failures, borderline figures, and what was not read."""
    for result, words in (("fail", "out of tolerance"), ("borderline", "borderline")):
        named = [_named(item.eye, item.quantity) for item in verdict.items if item.result == result]
        if named:
            said = ", ".join(named)
            yield f"{said[0].upper()}{said[1:]}: {words}."
    missing = (verdict.extra or {}).get("not_read", [])
    if missing:
        named = [_named(one["eye"], one["quantity"]) for one in missing]
        yield f"Not read yet: {', '.join(named)}."


def _named(eye: str | None, quantity: Quantity) -> str:
    words = "power" if quantity == "meridian_high" and eye != "both" else QUANTITY_WORDS[quantity]
    return f"{words} of the pair" if eye == "both" else f"{eye} {words}"
