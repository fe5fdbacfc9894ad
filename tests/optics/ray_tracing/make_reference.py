"""Traces drawn lenses with a general ray tracer and writes what the rays do to `reference.json`.

Run it by hand from the root of the project, in its own environment (the tracer takes more than a gigabyte, so the tests
read the file). It takes a minute; with the same version and seed the file is the same to the byte:

    python -m venv /tmp/rays
    /tmp/rays/bin/pip install --upgrade pip        # dependency groups need pip 25.1
    /tmp/rays/bin/pip install --group raytracing
    /tmp/rays/bin/python tests/optics/ray_tracing/make_reference.py

It imports nothing from the product: lenses are drawn as radii and thickness, and what comes out is measured on real
rays through a sphere and a torus. World: x to the viewer's right, y up, z to the viewer, light down z; in the tracer
z runs with the light, so world z is the tracer's −z, and x and y are the same.
"""

from __future__ import annotations

import json
import math
import warnings
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
from optiland.materials import IdealMaterial
from optiland.optic import Optic
from optiland.rays import RealRays

SEED = 20261125
LENSES = 300
STEP_MM = 0.02  # half the width of the bundle that measures a power
INDICES = (1.498, 1.523, 1.586, 1.60, 1.67, 1.74)
DIGITS = 10


def drawn_lens(random: np.random.Generator) -> dict[str, Any]:
    """One lens: curves that a prescription from −9 to +6 D with up to 4 D of cylinder could ask for."""
    index = float(random.choice(INDICES))
    while True:
        curve = round(float(random.uniform(1.0, 9.0)), 2)
        front_d = 1000.0 * (index - 1.0) * curve / 530.0
        along_d = float(random.uniform(-9.0, 6.0)) - front_d
        across_d = along_d - float(random.uniform(0.25, 4.0))
        steepest = 1000.0 * (index - 1.0) / max(-along_d, -across_d)
        if along_d < -0.4 and steepest > 45.0:
            break
    return {
        "eye": str(random.choice(["right", "left"])),
        "index": index,
        "front_curve_d": curve,
        "back_radius_along_mm": round(-1000.0 * (index - 1.0) / along_d, 4),
        "back_radius_across_mm": round(-1000.0 * (index - 1.0) / across_d, 4),
        "axis_deg": int(random.integers(1, 181)),
        "thickness_mm": round(float(random.uniform(1.2, 7.0)), 2),
        "pantoscopic_deg": round(float(random.uniform(-5.0, 20.0)), 1),
        "face_form_deg": round(float(random.uniform(-2.0, 25.0)), 1),
        "ray_x_mm": round(float(random.uniform(-14.0, 14.0)), 2),
        "ray_y_mm": round(float(random.uniform(-14.0, 14.0)), 2),
    }


def optic_of(lens: dict[str, Any]) -> Optic:
    """The lens in the tracer: front apex at z = 0, back apex and the last plane at z = thickness."""
    optic = Optic()
    optic.surfaces.add(index=0, radius=np.inf, z=-50.0)
    glass = IdealMaterial(lens["index"])
    optic.surfaces.add(index=1, radius=530.0 / lens["front_curve_d"], z=0.0, material=glass, is_stop=True)
    optic.surfaces.add(
        index=2,
        surface_type="toroidal",
        radius_x=lens["back_radius_along_mm"],
        radius_y=lens["back_radius_across_mm"],
        z=lens["thickness_mm"],
        rz=math.radians(lens["axis_deg"]),
        material="air",
        tol=1e-13,
    )
    optic.surfaces.add(index=3, radius=np.inf, z=lens["thickness_mm"])
    return optic


def traced(optic: Optic, starts: np.ndarray, directions: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rays (rows of x, y, z in the tracer) to the plane of the back apex: places and directions there."""
    ones = np.ones(len(starts))
    rays = RealRays(*starts.T.copy(), *directions.T.copy(), intensity=ones, wavelength=0.55 * ones)
    optic.surfaces.trace(rays, skip=1)
    return np.stack([rays.x, rays.y, rays.z], axis=1), np.stack([rays.L, rays.M, rays.N], axis=1)


def lens_to_world(lens: dict[str, Any]) -> np.ndarray:
    """Rotation from lens to world: the front looks down by the pantoscopic tilt, then outwards by the face form."""
    down, outwards = math.radians(lens["pantoscopic_deg"]), math.radians(lens["face_form_deg"])
    towards = -outwards if lens["eye"] == "right" else outwards  # the right lens's outer side is the viewer's left
    tilt = np.array([[1, 0, 0], [0, math.cos(down), -math.sin(down)], [0, math.sin(down), math.cos(down)]])
    turn = np.array([[math.cos(towards), 0, math.sin(towards)], [0, 1, 0], [-math.sin(towards), 0, math.cos(towards)]])
    return np.asarray(turn @ tilt)


def mirrored_z(vectors: np.ndarray) -> np.ndarray:
    """From the world's sense of z to the tracer's, and back."""
    return np.asarray(vectors * np.array([1.0, 1.0, -1.0]))


def line_of_sight(optic: Optic, leaving: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Start and direction of the ray that leaves through the back apex along `leaving` (tracer axes); Newton."""
    unknown = np.array([0.0, 0.0, leaving[0], leaving[1]])
    steps = np.vstack([np.zeros(4), 1e-5 * np.eye(4)])
    for _ in range(12):
        trial = unknown + steps
        along = np.column_stack([trial[:, 2:], np.sqrt(1.0 - (trial[:, 2:] ** 2).sum(axis=1))])
        at_front = np.column_stack([trial[:, :2], np.zeros(5)])
        places, ends = traced(optic, at_front - 30.0 * along, along)
        miss = np.column_stack([places[:, :2], ends[:, :2] - leaving[:2]])
        if np.abs(miss[0]).max() < 1e-12:
            break
        unknown = unknown - np.linalg.solve(((miss[1:] - miss[0]) / 1e-5).T, miss[0])
    return at_front[0] - 30.0 * along[0], along[0]


def power_along(optic: Optic, rotation: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Power matrix (D) felt along the line of sight, world x and y, and the prism (Δ, base x and y) on it."""
    leaving = mirrored_z(rotation.T @ np.array([0.0, 0.0, -1.0]))
    start, arriving = line_of_sight(optic, leaving)
    first = np.cross([0.0, 1.0, 0.0], arriving)
    first /= np.linalg.norm(first)
    across = np.array([first, np.cross(arriving, first)])
    starts = np.vstack([start + STEP_MM * across, start - STEP_MM * across])
    places, ends = traced(optic, starts, np.tile(arriving, (4, 1)))
    thickness = float(optic.surfaces[3].geometry.cs.z)
    places, ends = mirrored_z(places - [0.0, 0.0, thickness]) @ rotation.T, mirrored_z(ends) @ rotation.T
    slopes = ends[:, :2] / -ends[:, 2:]
    places = places[:, :2] + slopes * places[:, 2:]
    moved, bent = (places[:2] - places[2:]), (slopes[:2] - slopes[2:])
    power = -1000.0 * np.linalg.solve(moved, bent)
    before = rotation @ mirrored_z(arriving)
    return power, -100.0 * before[:2] / -before[2]


def measured(lens: dict[str, Any]) -> dict[str, Any]:
    """What the rays do: power at the centre, power and prism as worn, and one ray off the centre."""
    optic = optic_of(lens)
    centre, _ = power_along(optic, np.eye(3))
    worn, worn_prism = power_along(optic, lens_to_world(lens))
    start = np.array([[lens["ray_x_mm"], lens["ray_y_mm"], -30.0]])
    _, end = traced(optic, start, np.array([[0.0, 0.0, 1.0]]))
    back = optic.surfaces[2]
    exit_at = [float(np.ravel(axis)[0]) for axis in (back.x, back.y, back.z)]
    front_sag = float(np.ravel(optic.surfaces[1].z)[0])
    return {
        "centre_power": _entries(centre),
        "worn_power": _entries(worn),
        "worn_prism": worn_prism.tolist(),
        "ray_prism": (100.0 * end[0, :2] / end[0, 2]).tolist(),
        "ray_exit_mm": exit_at[:2],
        "back_sag_mm": exit_at[2] - lens["thickness_mm"],
        "front_sag_mm": front_sag,
    }


def _entries(matrix: np.ndarray) -> list[float]:
    """xx, yy and xy of a power matrix."""
    return [float(matrix[0, 0]), float(matrix[1, 1]), float(matrix[0, 1] + matrix[1, 0]) / 2.0]


def _rounded(value: Any) -> Any:
    if isinstance(value, list):
        return [_rounded(part) for part in value]
    return round(value, DIGITS) if isinstance(value, float) else value


def main() -> None:
    warnings.filterwarnings("ignore", module="numba|optiland")
    random = np.random.default_rng(SEED)
    lenses = []
    for _ in range(LENSES):
        lens = drawn_lens(random)
        found = {key: _rounded(value) for key, value in measured(lens).items()}
        lenses.append(lens | found)
    made_with = {"script": Path(__file__).name, "optiland": version("optiland"), "seed": SEED, "lenses": LENSES}
    lines = ",\n".join(json.dumps(lens) for lens in lenses)
    text = f'{{"made_with": {json.dumps(made_with)},\n"lenses": [\n{lines}\n]}}\n'
    Path(__file__).with_name("reference.json").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
