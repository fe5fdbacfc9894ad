"""The pair worn now, as a lensmeter reads it: made within its tolerance, read with noise, and not always to hand."""

from __future__ import annotations

import copy
from datetime import timedelta
from random import Random
from typing import Any

from tests.orders.corpus.wearers import Wearer
from tests.orders.corpus.writing import TODAY

READING_PAIR_SHARE = 0.12
"""Of the presbyopes whose prescription is for more than near: those who bring their reading spectacles."""

STEPS_D = (0.01, 0.25)
"""An automatic lensmeter prints hundredths, and on a drum people read quarters: half of each."""

POWER_SD_D, AXIS_SD_DEG = 0.07, 1.5
"""Making (ISO 21987 allows 0.12 D) and reading together, one SD; the axis of a weak cylinder is read less well."""


def present_spectacles(rng: Random, person: Wearer, use: str) -> tuple[dict[str, Any] | None, str | None]:
    """What the order says of them, and what they are for in truth; None if there are none to read.

    use: what the prescription is for.
    """
    if person.worn is None:
        return None, None
    worn, add, step = copy.deepcopy(person.worn), person.earlier_add, rng.choice(STEPS_D)
    read_for = _use(rng, add, use)
    for eye in worn.values():
        if add is not None and read_for == "near":
            eye["sphere"] += add
        elif add is not None and use == "distance_and_near":
            eye["add"] = add
    eyes = {side: _read(rng, eye, step) for side, eye in worn.items()}
    read_on = TODAY - timedelta(days=rng.randint(0, 30))
    said = read_for if rng.random() < 0.8 else None
    return {**eyes, "use": said, "read_on": read_on.isoformat()}, read_for


def _use(rng: Random, add: float | None, use: str) -> str:
    """What the pair that was brought is for."""
    reads = add is not None and use != "near" and rng.random() < READING_PAIR_SHARE
    return "near" if reads else use


def _read(rng: Random, eye: dict[str, Any], step: float) -> dict[str, Any]:
    read = {**eye, "sphere": _on_scale(eye["sphere"] + rng.gauss(0.0, POWER_SD_D), step)}
    if eye["add"] is not None:
        read["add"] = max(_on_scale(eye["add"] + rng.gauss(0.0, POWER_SD_D), step), 0.5)
    if eye["cylinder"]:
        cylinder = _on_scale(eye["cylinder"] + rng.gauss(0.0, POWER_SD_D), step)
        turned = rng.gauss(0.0, min(AXIS_SD_DEG / abs(eye["cylinder"]) ** 0.5, 5.0))
        read |= {"cylinder": cylinder or None, "axis": (round(eye["axis"] + turned) % 180 or 180) if cylinder else None}
    return read


def _on_scale(value: float, step: float) -> float:
    return round(round(value / step) * step, 2)
