"""Photos as a practice takes them, with everything that spoils them: whether the stated ± still holds the truth.

``python -m tests.fitting.outside_the_studio [SCENES]`` prints a row for each cause and figure: bias, standard
deviation, the stated one, and how often the truth lies within the ±; then two to four photos combined. Heads are
rendered by ``simulate``, which shares no code with the measuring, and measured as the marking page measures them.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from dispensing.fitting.as_worn import as_worn
from dispensing.fitting.command import plain
from dispensing.fitting.documents import FittingPoints, parse_points
from dispensing.fitting.several import measure_sheet
from tests.fitting.simulate import Pose, Scene, figures_of, random_scene

Random = np.random.Generator
Change = Callable[[dict[str, Any], Scene, Random], None]
SEED = 20261130
FIGURES = ("right.pd_mm", "left.pd_mm", "binocular_pd_mm", "right.height_mm", "left.height_mm")
UNKNOWN_DEG, SENSOR_DEG = 3.0, 0.5


def usual(rng: Random, *, pitch_sd_deg: float = UNKNOWN_DEG, turn_sd_deg: float = 2.0, **fixed: Any) -> Scene:
    """A worn front before a camera held by hand at 0.6 to 1 m, in a posture that nobody corrected."""
    scene = random_scene(
        rng, **{"scale_by": "frame", "gaze": "camera", "with_side": False, "distance_given": False, **fixed}
    )
    far = float(rng.uniform(600, 1000))
    frame = replace(
        scene.frame,
        tilted_in_front_photo=True,
        face_form_deg=float(np.clip(rng.normal(5.0, 1.5), 0, 12)),
        pantoscopic_deg=float(rng.uniform(5, 13)),
    )
    nod = far * np.tan(np.radians(rng.normal(0, pitch_sd_deg)))
    camera = replace(scene.camera, distance_mm=far, axis_above_mm=float(nod))
    wearer = replace(scene.wearer, vertex_mm=float(rng.uniform(11, 16)))
    if not scene.with_side:
        wearer = replace(wearer, turns_behind_mm=(float(rng.normal(15.3, 1.5)), float(rng.normal(12.5, 1.4))))
    return replace(scene, frame=frame, camera=camera, wearer=wearer, pose=posture(rng, turn_sd_deg))


def posture(rng: Random, turn_sd_deg: float = 2.0) -> Pose:
    """How the head is held when the wearer looks at the camera anew."""
    return Pose(float(rng.normal(0, turn_sd_deg)), float(rng.normal(0, 1.5)), float(rng.uniform(-6, 6)))


def nothing(points: dict[str, Any], scene: Scene, rng: Random) -> None:
    """The document as it is."""


def by_the_sensor(points: dict[str, Any], scene: Scene, rng: Random) -> None:
    pitch = -np.degrees(np.arctan(scene.camera.axis_above_mm / scene.camera.distance_mm))
    points["front"] |= {"camera_pitch_deg": float(pitch + rng.normal(0, SENSOR_DEG)), "camera_pitch_sd_deg": SENSOR_DEG}


def depth_known(points: dict[str, Any], scene: Scene, rng: Random) -> None:
    points["front"]["scale"]["b_mm"] = float(np.rint(scene.frame.b_mm))


def gaze_told(points: dict[str, Any], scene: Scene, rng: Random) -> None:
    points["front"] |= dict(zip(("gaze_in_mm", "gaze_up_mm"), scene.looked_beside_mm, strict=True))


def rim_marked(points: dict[str, Any], scene: Scene, rng: Random) -> None:
    points["front"] |= {"sides": "rim", "groove_mm": None}


def no_distance(points: dict[str, Any], scene: Scene, rng: Random) -> None:
    points["front"]["focal_px"] = None


def focal_off(points: dict[str, Any], scene: Scene, rng: Random) -> None:
    points["front"]["focal_px"] *= 1 + 0.1 * float(rng.choice([-1, 1]))


def worn_told(points: dict[str, Any], scene: Scene, rng: Random) -> None:
    by_the_sensor(points, scene, rng)
    lens = {"sphere": scene.worn_d}
    points["front"]["extra"] = {**(points["front"]["extra"] or {}), "worn": {"right": lens, "left": lens}}


def worn_and_centre_told(points: dict[str, Any], scene: Scene, rng: Random) -> None:
    worn_told(points, scene, rng)
    inwards, upwards = scene.worn_centre_off_mm
    for eye, pd in (("right", scene.wearer.pd_right_mm), ("left", scene.wearer.pd_left_mm)):
        dotted = {"pd_mm": pd - inwards + rng.normal(0, 0.5), "height_mm": _half(scene) + upwards + rng.normal(0, 0.5)}
        worn = points["front"]["extra"]["worn"]
        points["front"]["extra"]["worn"] = {**worn, eye: {**worn[eye], **dotted}}


def _half(scene: Scene) -> float:
    return scene.frame.b_mm / 2


def through_lenses(rng: Random) -> Scene:
    """Worn lenses of −10 to +6 D, centred about the eyes and about half of B."""
    power = float(rng.uniform(-10, 6))
    return replace(usual(rng), worn_d=power, worn_centre_off_mm=(float(rng.normal(0, 1.5)), float(rng.normal(0, 2.5))))


def squinting(rng: Random, least: float = 5.0, most: float = 25.0) -> Scene:
    """One eye turned in or out, marked at a large zoom."""
    turned = float(rng.uniform(least, most) * rng.choice([-1, 1]))
    out = (turned, 0.0) if rng.random() < 0.5 else (0.0, turned)
    return replace(usual(rng), turned_out_deg=out, zoom=2.0)


def named(least: float, most: float, scenes: int) -> tuple[float, float]:
    """Of turned eyes with the reflections marked: the share that is named rightly, and that is named wrongly."""
    rng, right, wrong = np.random.default_rng(SEED), 0, 0
    for _ in range(scenes):
        scene = replace(squinting(rng, least, most), reflections=True)
        told = measure_sheet([_document(scene, by_the_sensor, 0, rng)]).fitting.told("turned_eye")
        eye = "right" if scene.turned_out_deg[0] else "left"
        way = "out" if sum(scene.turned_out_deg) > 0 else "in"
        is_right = bool(told) and told[0].startswith(f"the {eye} eye is turned {way} by")
        right, wrong = right + is_right, wrong + (bool(told) and not is_right)
    return right / scenes, wrong / scenes


def chin_habit(rng: Random) -> Scene:
    scene = usual(rng)
    return replace(scene, pose=replace(scene.pose, chin_deg=float(rng.normal(0, 3.0))))


def odd_face_form(rng: Random) -> Scene:
    scene = usual(rng)
    return replace(scene, frame=replace(scene.frame, face_form_deg=float(rng.uniform(0, 12))))


def beside(rng: Random) -> tuple[float, float]:
    """Where the eyes of somebody are who holds a camera: up to 150 mm from its lens."""
    return float(rng.uniform(-150, 150)), float(rng.uniform(-150, 150))


# Each row: how the scene differs from the usual one, and what its document tells.
Row = tuple[Callable[[Random], Scene], Change]
TOLD: Mapping[str, Row] = {
    "by hand, pitch unknown": (usual, nothing),
    "pitch known by the sensor": (usual, by_the_sensor),
    "B of the frame known": (usual, depth_known),
    "turned by 1 to 3 deg": (lambda rng: usual(rng, turn_sd_deg=float(rng.uniform(1, 3))), by_the_sensor),
    "with a side photo": (lambda rng: usual(rng, with_side=True), by_the_sensor),
    "looked beside the lens, told": (lambda rng: replace(usual(rng), looked_beside_mm=beside(rng)), gaze_told),
    "marked at the visible rim": (lambda rng: replace(usual(rng), groove_mm=float(rng.normal(0.5, 0.2))), rim_marked),
    "marked on the whole photo": (lambda rng: replace(usual(rng), zoom=0.18), by_the_sensor),
    "marked enlarged": (lambda rng: replace(usual(rng), zoom=2.0), by_the_sensor),
    "cropped, so no distance": (usual, no_distance),
    "lens of -10 to +6 D worn, told": (through_lenses, worn_told),
    "lens worn, its centre told": (through_lenses, worn_and_centre_told),
}
NOT_TOLD: Mapping[str, Row] = {
    "looked beside the lens, not told": (lambda rng: replace(usual(rng), looked_beside_mm=beside(rng)), by_the_sensor),
    "chin held by habit, SD 3 deg": (chin_habit, by_the_sensor),
    "focal length 10 % off": (usual, focal_off),
    "lens of -10 to +6 D worn, not told": (through_lenses, by_the_sensor),
    "face form 0 to 12 deg, not told": (odd_face_form, by_the_sensor),
    "an eye turned by 5 to 25 deg, not told": (squinting, by_the_sensor),
    "lens bends the photo, k1 0.05": (
        lambda rng: replace(usual(rng), k1=float(rng.choice([-0.05, 0.05]))),
        by_the_sensor,
    ),
}


def errors(
    name: str, scenes: int, rows: Mapping[str, Row] = TOLD, photos: int = 1, renewed: bool = True
) -> dict[str, Any]:
    """For each figure, errors and stated standard deviations as an array (2 × scenes)."""
    rng = np.random.default_rng(SEED)
    found: dict[str, list[tuple[float, float]]] = {}
    for _ in range(scenes):
        make, tell = rows[name]
        scene = make(rng)
        sheet = [
            _document(_again(scene, rng, renewed and number > 0), tell, number if renewed else 0, rng)
            for number in range(photos)
        ]
        figures = figures_of(plain(measure_sheet(sheet).fitting))
        for figure in FIGURES:
            if figure not in figures:  # of a turned eye
                continue
            off = figures[figure]["value"] - scene.truth()[figure]
            found.setdefault(figure, []).append((off, figures[figure]["plus_minus"] / 1.96))
    return {figure: np.array(found[figure]).T for figure in FIGURES if figure in found}


def _again(scene: Scene, rng: Random, renewed: bool) -> Scene:
    """The same wearer once more: the camera held anew, the posture too where the wearer looked away and back."""
    nod = scene.camera.distance_mm * np.tan(np.radians(rng.normal(0, UNKNOWN_DEG)))
    again = replace(
        scene, camera=replace(scene.camera, axis_above_mm=float(nod), axis_aside_mm=float(rng.normal(0, 5)))
    )
    return replace(again, pose=posture(rng)) if renewed else again


def _document(scene: Scene, tell: Change, posture_number: int, rng: Random) -> FittingPoints:
    points = scene.marked(rng)
    tell(points, scene, rng)
    points["posture"] = f"posture {posture_number}"
    return as_worn(parse_points(json.dumps(points)))


def covered(pairs: Any) -> float:
    """The share of errors within 1.96 stated standard deviations."""
    return float(np.mean(np.abs(pairs[0]) <= 1.96 * pairs[1]))


def print_row(name: str, found: Mapping[str, Any]) -> None:
    for figure, (off, stated) in found.items():
        figures = f"{off.mean():+7.3f} {off.std():7.3f} {np.sqrt(np.mean(stated**2)):7.3f}"
        print(f"{name:34s} {figure:16s} {figures} {100 * covered((off, stated)):6.1f} %")


def main(scenes: int) -> None:
    print(f"{'':34s} {'':16s} {'bias':>7s} {'SD':>7s} {'stated':>7s} {'covered':>8s}   {scenes} scenes a row")
    for name in TOLD:
        print_row(name, errors(name, scenes))
    print("\nWhat a photo cannot tell")
    for name in NOT_TOLD:
        print_row(name, errors(name, scenes, NOT_TOLD))
    print("\nAn eye turned, reflections marked enlarged")
    for least, most in ((0, 0), (5, 10), (10, 15), (15, 20), (20, 30)):
        right, wrong = named(least, most, scenes)
        print(f"by {least:2d} to {most:2d} deg: named rightly {100 * right:5.1f} %, wrongly {100 * wrong:5.1f} %")
    for renewed in (True, False):
        print(f"\nSeveral photos, pitch known by the sensor, {'posture renewed' if renewed else 'one posture'}")
        for photos in (2, 3, 4):
            print_row(f"{photos} photos", errors("pitch known by the sensor", scenes, photos=photos, renewed=renewed))
            print_row(f"{photos} marked enlarged", errors("marked enlarged", scenes, photos=photos, renewed=renewed))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
