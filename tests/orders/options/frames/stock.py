"""Frames drawn for tests: ordinary ones, and such as have something missing or mistyped."""

from __future__ import annotations

import json
from pathlib import Path
from random import Random
from typing import Any, get_args

from orders.documents.lens_order import FramePart, Mount

DEMO = json.loads((Path(__file__).parents[4] / "fixtures" / "demo" / "frames.json").read_text(encoding="utf-8"))
MISSING = ("a_mm", "b_mm", "dbl_mm", "ed_mm", "mount", "shape", "front_curve_d")


def drawn(seed: int, count: int) -> list[FramePart]:
    """Frames of the demo in other sizes and mounts."""
    random = Random(seed)
    return [FramePart.model_validate(_resized(random, random.choice(DEMO), number)) for number in range(count)]


def odd(seed: int, count: int) -> list[FramePart]:
    """The same with something missing, mistyped or traced in another number of radii."""
    random, found = Random(seed), []
    for frame in drawn(seed, count):
        values = frame.model_dump()
        slip = random.choice(("missing", "tenfold", "fewer radii", "a gap in the trace"))
        shape = values["shape"]
        if slip == "missing":
            values[random.choice(MISSING)] = None
        elif slip == "tenfold":
            values["a_mm"] = (values["a_mm"] or 50.0) * 10.0
        elif shape is not None:
            radii = list(shape["radii_mm"])
            radii = radii[::3] if slip == "fewer radii" else [None, *radii[1:]]
            values["shape"] = {**shape, "radii_mm": radii}
        found.append(FramePart.model_validate(values))
    return found


def _resized(random: Random, frame: dict[str, Any], number: int) -> dict[str, Any]:
    size = 1.0 + random.uniform(-0.08, 0.08)
    radii = frame.get("radii_mm")
    return {
        "model": f"{frame['model']} {number}",
        "mount": random.choice(get_args(Mount)),
        "a_mm": round(frame["a_mm"] * size, 1),
        "b_mm": round(frame["b_mm"] * size, 1),
        "dbl_mm": float(random.randint(14, 22)),
        "ed_mm": round(frame["ed_mm"] * size, 1) if frame.get("ed_mm") else None,
        "front_curve_d": frame.get("front_curve_d"),
        "shape": {"side": "right", "radii_mm": [round(radius * size, 2) for radius in radii]} if radii else None,
    }
