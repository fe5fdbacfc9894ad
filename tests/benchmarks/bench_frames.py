"""How long comparing frames takes: ``python -m tests.benchmarks.bench_frames``.

Prints processor time, so that other work on the machine does not count. The goal: 2,000 stock frames, no two alike, for
one lens, worked out and judged in under a second; beside it stands the flat numpy arithmetic of thickness, edges and
weight alone.
"""

from __future__ import annotations

import json
from functools import partial
from typing import Any

import numpy as np

from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.documents.lens_order import EYES, FramePart
from orders.options.change import changed
from orders.options.frames.comparison import compare_frames
from orders.options.frames.figures import best_first
from orders.rules.examples import HERE, clean_order
from tests.benchmarks.bench_compare import flat, lenses_of
from tests.benchmarks.bench_geometry import DENSITY, MIN_CENTRE_MM, MIN_EDGE_MM, seconds
from tests.orders.options.frames.stock import drawn

FRAMES = 2_000


def stock() -> list[FramePart]:
    """Traced frames with a rim, each of its own shape and size."""
    frames = [frame.model_copy(update={"mount": "full_rim"}) for frame in drawn(5, 2 * FRAMES)]
    alike = {(frame.a_mm, frame.dbl_mm, frame.shape.radii_mm): frame for frame in frames if frame.shape}
    return list(alike.values())[:FRAMES]


def one_substance() -> LensCatalogue:
    """The example catalogue with the minima and the density of the flat arithmetic."""
    catalogue: dict[str, Any] = json.loads((HERE / "catalogue.json").read_text(encoding="utf-8"))
    least = {"min_centre_mm": MIN_CENTRE_MM, "min_edge_mm": {"full_rim": MIN_EDGE_MM}, "density_g_cm3": DENSITY}
    return parse_catalogue(json.dumps(catalogue | {"materials": [m | least for m in catalogue["materials"]]}))


def main() -> None:
    catalogue, frames = one_substance(), stock()
    single = {f"lenses.{eye}.{key}": value for eye in EYES for key, value in SINGLE.items()}
    for name, order in (("progressive", clean_order()), ("single vision", changed(clean_order(), single))):
        work = partial(compare_frames, order, catalogue, frames)
        rows = work()
        lenses = lenses_of(rows)
        assert len(set(lenses)) == 2 * FRAMES, "no two lenses are alike"
        arithmetic = flat(lenses)
        weights = np.array([body.weight_g for row in rows for body in map(row.body, EYES) if body])
        spent, alone = seconds(work, 3), seconds(arithmetic, 3)
        print(f"{FRAMES} frames for one {name} lens: {spent:.3f} s (goal 1), {1e6 * spent / FRAMES:.0f} µs a frame")
        print(f"flat arithmetic of thickness, edges and weight: {alone:.3f} s; ratio {spent / alone:.2f}")
        print(f"the weights differ by {float(np.abs(weights - arithmetic()).max()):.1e} g at most")
        print(f"put in order: {seconds(partial(best_first, rows), 1):.3f} s")


SINGLE = {"design": "single", "corridor_mm": None, "blank_mm": None}


if __name__ == "__main__":
    main()
