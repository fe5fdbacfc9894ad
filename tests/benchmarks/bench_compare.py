"""How long comparing lenses takes: ``python -m tests.benchmarks.bench_compare``.

Prints processor time, so that other work on the machine does not count. The goals: 10,000 lenses of one order (5,000
pairs, no two lenses alike) worked out and judged in under a second, and in no more than twice the time of the flat
numpy arithmetic of thickness, edges and weight alone; first rows of a practice's usual catalogues within 300 ms.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.documents.lens_order import EYES
from orders.options.lenses.comparison import LensRow, compare
from orders.options.lenses.judged_row import JudgedRow
from orders.rules.bodies import PlacedLens, Substance
from orders.rules.examples import HERE, clean_order
from tests.benchmarks.bench_geometry import DENSITY, LENSES, MIN_CENTRE_MM, MIN_EDGE_MM, seconds, written_flat

DESIGNS, MATERIALS = 100, 50
DEMO = Path(__file__).parents[2] / "fixtures" / "demo"


def many_lenses() -> LensCatalogue:
    """So many designs of every kind in so many materials that no two lenses of one eye are alike."""
    catalogue: dict[str, Any] = json.loads((HERE / "catalogue.json").read_text(encoding="utf-8"))
    kinds, usual = catalogue["designs"], catalogue["materials"][0]
    least = {"min_centre_mm": MIN_CENTRE_MM, "min_edge_mm": {"full_rim": MIN_EDGE_MM}, "density_g_cm3": DENSITY}
    materials = [
        {**usual, **least, "id": f"m{number}", "name": f"Material {number}", "index": 1.498 + 0.005 * number}
        for number in range(MATERIALS)
    ]
    designs = []
    for number in range(DESIGNS):
        design = {**kinds[number % len(kinds)], "id": f"d{number}", "name": f"Design {number}"}
        curves = [{"from_d": -20.0, "to_d": 20.0, "curve_d": 3.0 + 0.04 * number}]
        design |= {"materials": [], "base_curves": curves, "blanks": design["blanks"][:1]}
        designs.append({**design, "corridors": design["corridors"][:1]})
    treatments = [{**treatment, "materials": []} for treatment in catalogue["treatments"]]
    parts = {"materials": materials, "designs": designs, "treatments": treatments}
    return parse_catalogue(json.dumps({**catalogue, **parts}))


def lenses_of(rows: Sequence[JudgedRow]) -> list[tuple[PlacedLens, Substance]]:
    found = []
    for row in rows:
        for eye in row.case.eyes:
            placed, substance = eye.figures.placed, eye.figures.substance_of(eye.material)
            assert placed is not None
            assert substance is not None
            found.append((placed, substance))
    return found


def flat(lenses: list[tuple[PlacedLens, Substance]]) -> Any:
    """The same lenses as arrays for the flat arithmetic, ready to be timed."""

    def each(values: Any) -> NDArray[np.float64]:
        return np.array(list(values), dtype=np.float64)

    figures = {
        "sphere": each(lens.power.sphere for lens, _ in lenses),
        "cylinder": each(lens.power.cylinder for lens, _ in lenses),
        "axis_deg": each(lens.power.axis for lens, _ in lenses),
        "index": each(substance.index for _, substance in lenses),
        "front_curve_d": each(lens.front_curve_d for lens, _ in lenses),
        "reference_in_mm": each(lens.reference_in_up_mm[0] for lens, _ in lenses),
        "reference_up_mm": each(lens.reference_in_up_mm[1] for lens, _ in lenses),
    }
    across = np.array([lens.shape.viewer_x for lens, _ in lenses])
    up = np.array([lens.shape.viewer_y for lens, _ in lenses])
    signs = np.array([lens.shape.in_sign for lens, _ in lenses])
    return partial(written_flat, across, up, signs, figures)


def main() -> None:
    order, catalogue = clean_order(), many_lenses()
    work = partial(compare, order, [catalogue])
    rows = work()
    lenses = lenses_of(rows)
    assert len(lenses) == len(set(lenses)) == LENSES, "no two lenses are alike"
    arithmetic = flat(lenses)
    weights = np.array([body.weight_g for row in rows for body in map(row.body, EYES) if body])
    apart = float(np.abs(weights - arithmetic()).max())
    spent, alone = seconds(work, 5), seconds(arithmetic, 5)
    print(f"{LENSES} lenses of one order, all different: {spent:.3f} s (goal 1), {1e6 * spent / LENSES:.0f} µs a lens")
    print(f"flat arithmetic of thickness, edges and weight: {alone:.3f} s; ratio {spent / alone:.2f} (goal 2)")
    print(f"the weights differ by {apart:.1e} g at most")
    usual = [parse_catalogue(path.read_text(encoding="utf-8")) for path in sorted(DEMO.glob("catalogue-*.json"))]
    shown, quick = compare(order, usual), seconds(partial(compare, order, usual), 5)
    print(f"{len(shown)} rows of {len(usual)} usual catalogues: {quick:.3f} s (goal 0.3)")
    print(f"one row in full, as a line of JSON: {1e3 * seconds(partial(_lines, shown[:50]), 1) / 50:.2f} ms")


def _lines(rows: tuple[LensRow, ...]) -> list[str]:
    return [row.document().model_dump_json() for row in rows]


if __name__ == "__main__":
    main()
