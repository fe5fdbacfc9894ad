"""How long the geometry of lenses takes: ``python -m tests.benchmarks.bench_geometry``.

Prints processor time, so that other work on the machine does not count. The goals: one order (two lenses, 400-point
shapes, exact blank, centre thickness, edge profile, weight) below 3 ms; 10,000 lenses at once at most 50 µs a lens, and
no more than twice the time of the same arithmetic written out flat, without checks, names or classes.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dispensing.optics.blank import Blank, choose_blank
from dispensing.optics.boxing import LensShape
from dispensing.optics.lens_batches import CHUNK, lens_bodies
from dispensing.optics.lens_body import lens_body
from dispensing.optics.power import SphereCylinder
from dispensing.optics.shape_families import assumed_shape

Array = NDArray[np.float64]

LENSES = 10_000
MIN_CENTRE_MM, MIN_EDGE_MM, DENSITY = 1.5, 1.0, 1.3
RIGHT = assumed_shape(52.0, 38.0, 55.0, "panto")
BLANKS = [Blank(65.0), Blank(70.0, centre_in_mm=-2.5), Blank(75.0)]


def seconds(work: Callable[[], object], rounds: int) -> float:
    """Processor time of the quickest round."""
    spent = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return min(spent)


def one_order(sphere: float, front_curve_d: float) -> None:
    """Both lenses of an order from their radii to weight, nothing kept from before."""
    right = LensShape(RIGHT.radii, "right")
    for shape in (right, right.mirrored()):
        place = (3.5, 2.0)
        choose_blank(BLANKS, shape, place)
        body = lens_body(
            shape,
            SphereCylinder(sphere, -1.5, 30.0),
            index=1.6,
            density_g_cm3=DENSITY,
            front_curve_d=front_curve_d,
            min_centre_mm=MIN_CENTRE_MM,
            min_edge_mm=MIN_EDGE_MM,
            reference_in_up_mm=place,
        )
        body.edge_profile()
        assert body.edge_min_mm <= body.edge_max_mm


def drawn_lenses() -> dict[str, Array]:
    """Minus and plus lenses in equal parts of what practices order."""
    random = np.random.default_rng(1)
    sphere = random.uniform(-7.0, 4.0, LENSES)
    return {
        "sphere": sphere,
        "cylinder": random.uniform(-3.0, 0.0, LENSES),
        "axis_deg": random.uniform(1.0, 180.0, LENSES),
        "index": random.choice([1.5, 1.6, 1.67], LENSES),
        "front_curve_d": np.clip(5.0 + sphere / 2.0, 2.0, 8.0),
        "reference_in_mm": random.uniform(0.0, 4.0, LENSES),
        "reference_up_mm": random.uniform(-1.0, 4.0, LENSES),
    }


def in_core(shapes: list[LensShape], lenses: dict[str, Array]) -> Array:
    """Weights by the optics core."""
    limits: dict[str, Any] = {"min_centre_mm": MIN_CENTRE_MM, "min_edge_mm": MIN_EDGE_MM}
    return lens_bodies(shapes, density_g_cm3=DENSITY, **limits, **lenses).weight_g


def written_flat(corner_x: Array, corner_y: Array, signs: Array, lenses: dict[str, Array]) -> Array:
    """Weights by the same arithmetic in one piece: corners (lenses, 400), one column of numbers a lens."""
    weights = np.empty(len(signs))
    for first in range(0, len(signs), CHUNK):
        rows = slice(first, first + CHUNK)
        part = {name: values[rows, None] for name, values in lenses.items()}
        x = corner_x[rows] - part["reference_in_mm"] * signs[rows, None]
        y = corner_y[rows] - part["reference_up_mm"]
        weights[rows] = _flat_weights(x, y, part)
    return weights


def _flat_torus(flat: Array, steep: Array, x2: Array, y2: Array) -> Array:
    swept = steep * y2 / (1.0 + np.sqrt(1.0 - steep * steep * y2))
    rest = 1.0 - flat * swept
    return (swept * (1.0 + rest) + flat * x2) / (1.0 + np.sqrt(rest * rest - flat * flat * x2))


def _flat_weights(x: Array, y: Array, part: dict[str, Array]) -> Array:
    n, sphere, across = part["index"], part["sphere"], part["sphere"] + part["cylinder"]
    curvature = part["front_curve_d"] / 530.0
    front = 1000.0 * (n - 1.0) * curvature
    along = np.abs(sphere - front) <= np.abs(across - front)
    turn = np.radians(part["axis_deg"]) + np.where(along, 0.0, np.pi / 2.0)
    wanted = np.where(along, sphere, across), np.where(along, across, sphere)
    cosine, sine = np.cos(turn), np.sin(turn)

    def backs(centre: Array, rows: Any = slice(None)) -> tuple[Array, Array]:
        before = front[rows] / (1.0 - centre * front[rows] / (1000.0 * n[rows]))
        per_d = 1.0 / (1000.0 * (n[rows] - 1.0))
        return (before - wanted[0][rows]) * per_d, (before - wanted[1][rows]) * per_d

    x2, y2 = (x * cosine + y * sine) ** 2, (y * cosine - x * sine) ** 2
    far2 = x2 + y2
    rest = -curvature * far2 / (1.0 + np.sqrt(1.0 - curvature * curvature * far2))
    centre = np.full_like(front, MIN_CENTRE_MM)
    edge = centre + rest + _flat_torus(*backs(centre), x2, y2)
    for _ in range(10):
        corner = np.argmin(edge, axis=1)[:, None]
        thin = np.flatnonzero(np.take_along_axis(edge, corner, 1) < MIN_EDGE_MM - 1e-9)
        if not thin.size:
            break
        held = [np.take_along_axis(values[thin], corner[thin], 1) for values in (x2, y2, rest)]
        for _ in range(6):
            now = centre[thin] + held[2] + _flat_torus(*backs(centre[thin], thin), held[0], held[1])
            centre[thin] += MIN_EDGE_MM - now
        edge[thin] = centre[thin] + rest[thin] + _flat_torus(*backs(centre[thin], thin), x2[thin], y2[thin])
    next_x, next_y = np.roll(x, -1, axis=1), np.roll(y, -1, axis=1)
    area = 0.5 * (x * next_y - y * next_x)
    middle_x, middle_y = 0.5 * (x + next_x), 0.5 * (y + next_y)
    x2, y2 = (middle_x * cosine + middle_y * sine) ** 2, (middle_y * cosine - middle_x * sine) ** 2
    flat, steep = backs(centre)
    mean = sum(
        weight * _flat_torus(flat, steep, place * x2, place * y2)
        for place, weight in ((0.5 - 0.15**0.5, 5 / 18), (0.5, 8 / 18), (0.5 + 0.15**0.5, 5 / 18))
    )
    root = np.sqrt(1.0 - curvature * curvature * (x2 + y2))
    mean = mean - curvature / 3.0 * (x2 + y2) * (1.0 + 2.0 * root) / (1.0 + root) ** 2
    edge.min(axis=1), edge.max(axis=1)
    weights: Array = (area * (centre + mean)).sum(axis=1) * DENSITY / 1000.0
    return weights


def main() -> None:
    for name, sphere, curve in (("minus", -3.0, 4.0), ("plus", 3.0, 7.0)):
        one_order(sphere, curve)
        print(f"one order, {name:6s}{1e3 * seconds(partial(one_order, sphere, curve), 200):7.2f} ms (goal 3)")
    shapes = [RIGHT, RIGHT.mirrored()] * (LENSES // 2)
    lenses = drawn_lenses()
    across = np.array([shape.viewer_x for shape in shapes])
    down = np.array([shape.viewer_y for shape in shapes])
    signs = np.array([shape.in_sign for shape in shapes])
    apart = np.abs(in_core(shapes, lenses) - written_flat(across, down, signs, lenses)).max()
    core = seconds(lambda: in_core(shapes, lenses), 7)
    flat = seconds(lambda: written_flat(across, down, signs, lenses), 7)
    print(
        f"{LENSES} lenses at once: core {1e6 * core / LENSES:.1f} µs a lens (goal 50), flat {1e6 * flat / LENSES:.1f}"
    )
    print(f"core / flat {core / flat:.2f} (goal 2); the weights differ by {apart:.1e} g at most")


if __name__ == "__main__":
    main()
