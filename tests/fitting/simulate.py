"""Renders heads: from known eyes, frame, posture and camera to the marks that a careful dispenser would make.

It uses rotation matrices and points in space, deliberately a different method from the measuring itself: nothing from
``dispensing.fitting`` except the document is used here. Axes of the room in the natural posture: X to the wearer's
left, Y up, Z towards the camera; the lens plane at rest is Z = 0 with the bridge at the origin.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

Vector = npt.NDArray[np.float64]

NECK_BEHIND_LENSES_MM = 95.0
FAR_MM = 1e12
WIDTH_PX, HEIGHT_PX = 4000, 3000


@dataclass(frozen=True)
class Wearer:
    """Eyes in mm from the bridge and above the lowest point of the boxes; ``vertex_mm`` cornea to lens plane.

    ``turns_behind_mm``: how far behind the cornea the eye turns sideways, and up and down.
    """

    pd_right_mm: float = 31.5
    pd_left_mm: float = 31.5
    height_right_mm: float = 22.0
    height_left_mm: float = 22.0
    vertex_mm: float = 13.5
    turns_behind_mm: tuple[float, float] = (13.5, 13.5)

    def stop_mm(self) -> float:
        """Lens plane to the point about which the eye turns in to read."""
        return self.vertex_mm + self.turns_behind_mm[0]


@dataclass(frozen=True)
class Frame:
    a_mm: float = 52.0
    b_mm: float = 38.0
    dbl_mm: float = 18.0
    pantoscopic_deg: float = 9.0
    face_form_deg: float = 0.0
    tilted_in_front_photo: bool = False


@dataclass(frozen=True)
class Pose:
    """Head against its natural posture (turn + to the wearer's left, chin + up), and roll + anticlockwise."""

    turn_deg: float = 0.0
    chin_deg: float = 0.0
    roll_deg: float = 0.0


@dataclass(frozen=True)
class Camera:
    """Where it stands (from the bridge) and how far its axis misses its own level foot on the lens plane."""

    distance_mm: float = 700.0
    aside_mm: float = 0.0
    above_mm: float = 0.0
    axis_aside_mm: float = 0.0
    axis_above_mm: float = 0.0
    focal_px: float = 3300.0


@dataclass(frozen=True)
class Scene:
    """``looked_beside_mm``: how far from the lens of the camera the wearer looked, to the wearer's right and up.

    ``groove_mm``: how far before the lens's own edge the sides are marked. ``k1``: how the camera's lens bends the
    photo, r · (1 + k1 · r²) with r in focal lengths. ``zoom``: marked with a mouse on a screen that showed the photo so
    large, by whole pixels of the screen; None marks by ``mark_sd_px``. ``worn_d``: a spherical lens before each eye,
    with its optical centre so far in and up from straight before the eye and half of B. ``turned_out_deg``: how far the
    right and the left eye are turned out from where they look; ``reflections``: where the camera's light is reflected
    in them is marked as well.
    """

    wearer: Wearer = field(default_factory=Wearer)
    frame: Frame = field(default_factory=Frame)
    pose: Pose = field(default_factory=Pose)
    side_pose: Pose = field(default_factory=Pose)
    camera: Camera = field(default_factory=Camera)
    gaze: str = "camera"
    scale_by: str = "frame"
    scale_error_mm: float = 0.0
    card_in_front_mm: float = 20.0
    with_side: bool = True
    distance_given: bool = False
    face_form_given: bool = False
    mark_sd_px: float = 0.0
    looked_beside_mm: tuple[float, float] = (0.0, 0.0)
    groove_mm: float = 0.0
    k1: float = 0.0
    zoom: float | None = None
    worn_d: float = 0.0
    worn_centre_off_mm: tuple[float, float] = (0.0, 0.0)
    turned_out_deg: tuple[float, float] = (0.0, 0.0)
    reflections: bool = False

    def truth(self) -> dict[str, float]:
        """What a perfect measurement would say, by the names of ``fitting/1``."""
        wearer, frame = self.wearer, self.frame
        near = 400.0 / (400.0 + wearer.stop_mm())
        truth = {
            "right.pd_mm": wearer.pd_right_mm,
            "left.pd_mm": wearer.pd_left_mm,
            "right.near_pd_mm": wearer.pd_right_mm * near,
            "left.near_pd_mm": wearer.pd_left_mm * near,
            "right.height_mm": wearer.height_right_mm,
            "left.height_mm": wearer.height_left_mm,
            "right.a_mm": frame.a_mm,
            "left.a_mm": frame.a_mm,
            "right.b_mm": frame.b_mm,
            "left.b_mm": frame.b_mm,
            "dbl_mm": frame.dbl_mm,
            "camera_distance_mm": self.camera.distance_mm,
            "head_turn_deg": self.pose.turn_deg,
            "binocular_pd_mm": wearer.pd_right_mm + wearer.pd_left_mm,
        }
        if self.with_side and frame.tilted_in_front_photo:
            truth["right.b_along_lens_mm"] = frame.b_mm
            along = np.cos(np.radians(frame.pantoscopic_deg))
            truth |= {f"{eye}.height_in_plane_mm": truth[f"{eye}.height_mm"] / along for eye in ("right", "left")}
        if self.with_side:
            truth |= {"right.vertex_mm": wearer.vertex_mm, "pantoscopic_deg": frame.pantoscopic_deg}
        return truth

    def marked(self, rng: np.random.Generator) -> dict[str, Any]:
        """A ``fitting-points/1`` of this scene, marked with the scene's noise."""
        return {
            "format": "fitting-points/1",
            "front": _front(self, rng),
            "side": _side(self, rng) if self.with_side else None,
        }


def _turn_matrix(angle_deg: float) -> Vector:
    """About the upright: the face turns towards +X."""
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])


def _chin_matrix(angle_deg: float) -> Vector:
    """About the line through the ears: the face turns towards +Y."""
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([[1, 0, 0], [0, c, s], [0, -s, c]])


def _roll_matrix(angle_deg: float) -> Vector:
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])


def _box_points(frame: Frame, side: float, hidden_mm: float) -> dict[str, Vector]:
    """Nasal, temporal, top and bottom of one lens; ``side`` is -1 for the right eye, +1 for the left."""
    nasal, middle, temporal = frame.dbl_mm / 2, (frame.dbl_mm + frame.a_mm) / 2, frame.dbl_mm / 2 + frame.a_mm
    flat = {
        # Tangent points of a real lens shape lie anywhere along the side of the box.
        "nasal": np.array([nasal + hidden_mm, 0.1 * frame.b_mm, 0.0]),
        "temporal": np.array([temporal - hidden_mm, 0.2 * frame.b_mm, 0.0]),
        "top": np.array([middle + 0.1 * frame.a_mm, frame.b_mm / 2 - hidden_mm, 0.0]),
        "bottom": np.array([middle - 0.05 * frame.a_mm, -frame.b_mm / 2 + hidden_mm, 0.0]),
    }
    if frame.tilted_in_front_photo:
        flat = {name: _formed(point, frame) for name, point in flat.items()}
    return {name: point * np.array([side, 1.0, 1.0]) for name, point in flat.items()}


def _formed(point: Vector, frame: Frame) -> Vector:
    """A point of a flat front brought to its face form (bent back at the bridge) and then tilted."""
    wrap, tilt = np.radians(frame.face_form_deg), np.radians(frame.pantoscopic_deg)
    nasal = frame.dbl_mm / 2
    x = nasal + (point[0] - nasal) * np.cos(wrap)
    z = -(point[0] - nasal) * np.sin(wrap)
    return np.array([x, point[1] * np.cos(tilt) - z * np.sin(tilt), point[1] * np.sin(tilt) + z * np.cos(tilt)])


def _front(scene: Scene, rng: np.random.Generator) -> dict[str, Any]:
    eyes = {"right": -1.0, "left": 1.0}
    boxes = {eye: _box_points(scene.frame, side, scene.groove_mm) for eye, side in eyes.items()}
    lowest = {eye: _box_points(scene.frame, side, 0.0)["bottom"][1] for eye, side in eyes.items()}
    pupil_height = (scene.wearer.height_right_mm + scene.wearer.height_left_mm) / 2 + lowest["right"]
    place = np.array([scene.camera.aside_mm, pupil_height + scene.camera.above_mm, scene.camera.distance_mm])
    marks: dict[str, dict[str, list[float]]] = {}
    extra: dict[str, Any] = {} if scene.zoom is None else {"made": _made(scene.zoom)}
    for eye, side in eyes.items():
        pd, height = _eye_of(scene.wearer, eye)
        points = {name: _in_room(point, scene.pose) for name, point in boxes[eye].items()}
        points["pupil"] = _pupil(eye, np.array([side * pd, height + lowest[eye]]), place, scene)
        marks[eye] = {name: _marked(_pixel(point, place, scene), scene, rng) for name, point in points.items()}
        if scene.reflections:
            reflected = _pixel(_reflection(eye, points["pupil"], scene), place, scene)
            extra.setdefault("reflection", {})[eye] = _marked(reflected, scene, rng)
    return {
        "width_px": WIDTH_PX,
        "height_px": HEIGHT_PX,
        "focal_px": None if scene.distance_given else scene.camera.focal_px,
        "camera_distance_mm": scene.camera.distance_mm if scene.distance_given else None,
        "gaze": scene.gaze,
        "face_form_deg": scene.frame.face_form_deg if scene.face_form_given else None,
        "scale": _front_scale(scene, place, rng),
        "mark_sd_px": scene.mark_sd_px if scene.zoom is None else None,
        "extra": extra or None,
        **marks,
    }


def _made(zoom: float) -> dict[str, Any]:
    """What the marking page tells of how each mark was set."""
    marks = [f"{eye}.{mark}" for eye in ("right", "left") for mark in ("pupil", "nasal", "temporal", "top", "bottom")]
    return {mark: {"zoom": zoom, "by": "mouse"} for mark in (*marks, "scale.ends.0", "scale.ends.1")}


def _pupil(eye: str, across_and_up: Vector, place: Vector, scene: Scene) -> Vector:
    """An eye turns sideways about one point and up and down about another; the pupil lies 3 mm behind the cornea."""
    found = []
    side = -1.0 if eye == "right" else 1.0
    squint = _turn_matrix(side * scene.turned_out_deg[0 if eye == "right" else 1])
    beside = np.array([-scene.looked_beside_mm[0], scene.looked_beside_mm[1], 0.0])
    # Of a worn lens the optical centre; its place is that of the head, in which it is fixed.
    inwards, upwards = scene.worn_centre_off_mm
    axis = np.array([across_and_up[0] - side * inwards, upwards, 0.0])
    for behind in scene.wearer.turns_behind_mm:
        centre = np.array([*across_and_up, -scene.wearer.vertex_mm - behind])
        target = place + beside if scene.gaze == "camera" else np.array([0.0, 0.0, FAR_MM])
        looked_at = _imaged(_in_head(target, scene.pose), axis, scene.worn_d)
        towards = (looked_at - centre) * np.sign(looked_at[2] - centre[2])
        pupil = centre + (behind - 3.0) * (squint @ (towards / np.linalg.norm(towards)))
        found.append(_in_room(_imaged(pupil, axis, scene.worn_d), scene.pose))
    sideways, upwards_place = found
    return np.array([sideways[0], upwards_place[1], sideways[2]])


def _imaged(point: Vector, axis: Vector, power_d: float) -> Vector:
    """Where a thin lens in the plane Z = 0 shows a point, by the lens equation: the same point without power."""
    # Light runs from the point to the lens; behind it, it comes from, or goes to, the image.
    distance = abs(point[2])
    image = 1000.0 / (-1000.0 / distance + power_d)
    magnified = axis[:2] + (point[:2] - axis[:2]) * image / -distance
    return np.array([*magnified, -np.sign(point[2]) * image])


def _in_head(point: Vector, pose: Pose) -> Vector:
    """A point of the room in the axes of the head: the inverse of ``_in_room``."""
    neck = np.array([0.0, 0.0, -NECK_BEHIND_LENSES_MM])
    head = _turn_matrix(pose.turn_deg) @ _chin_matrix(pose.chin_deg)
    bridge: Vector = head @ -neck
    back: Vector = head.T @ (point + np.array([0.0, 0.0, bridge[2]])) + neck
    return back


def _reflection(eye: str, pupil: Vector, scene: Scene) -> Vector:
    """Nasal of the pupil's middle by 0.4 mm, and by a millimetre more for each 12° that the eye is turned out."""
    side = -1.0 if eye == "right" else 1.0
    out = scene.turned_out_deg[0 if eye == "right" else 1]
    reflected: Vector = pupil - np.array([side * (0.4 + out / 12.0), 0.0, 0.0])
    return reflected


def _eye_of(wearer: Wearer, eye: str) -> tuple[float, float]:
    if eye == "right":
        return wearer.pd_right_mm, wearer.height_right_mm
    return wearer.pd_left_mm, wearer.height_left_mm


def _in_room(point: Vector, pose: Pose) -> Vector:
    """A point of the head, after the head turned about the neck. The bridge is brought back before the camera."""
    neck = np.array([0.0, 0.0, -NECK_BEHIND_LENSES_MM])
    head = _turn_matrix(pose.turn_deg) @ _chin_matrix(pose.chin_deg)
    bridge: Vector = head @ -neck
    moved: Vector = head @ (point - neck) - np.array([0.0, 0.0, bridge[2]])
    return moved


def _pixel(point: Vector, place: Vector, scene: Scene) -> Vector:
    camera = scene.camera
    # A camera whose axis strikes the lens plane e beside its level foot is turned by e / distance.
    swing = _turn_matrix(np.degrees(np.arctan(camera.axis_aside_mm / camera.distance_mm)))
    nod = _chin_matrix(-np.degrees(np.arctan(camera.axis_above_mm / camera.distance_mm)))
    seen = _roll_matrix(scene.pose.roll_deg) @ nod @ swing @ (point - place)
    across, up = seen[:2] / -seen[2]
    bent = camera.focal_px * (1 + scene.k1 * (across**2 + up**2))
    return np.array([WIDTH_PX / 2 + bent * across, HEIGHT_PX / 2 - bent * up])


def _marked(pixel: Vector, scene: Scene, rng: np.random.Generator) -> list[float]:
    if scene.zoom is None:
        noisy: list[float] = (pixel + scene.mark_sd_px * rng.standard_normal(2)).tolist()
        return noisy
    edge = pixel + 1.1 * rng.standard_normal(2)
    pressed: list[float] = (np.rint(edge * scene.zoom + 0.95 * rng.standard_normal(2)) / scene.zoom).tolist()
    return pressed


def _front_scale(scene: Scene, place: Vector, rng: np.random.Generator) -> dict[str, Any]:
    frame = scene.frame
    if scene.scale_by == "frame":
        return {"by": "frame", "a_mm": frame.a_mm + scene.scale_error_mm, "dbl_mm": frame.dbl_mm}
    in_front = scene.card_in_front_mm if scene.scale_by == "card" else 0.0
    length = 85.6 if scene.scale_by == "card" else 100.0
    half = (length - scene.scale_error_mm) / 2
    ends = [_in_room(np.array([x, 30.0, in_front]), scene.pose) for x in (-half, half)]
    scale: dict[str, Any] = {
        "by": scene.scale_by,
        "ends": [_marked(_pixel(end, place, scene), scene, rng) for end in ends],
    }
    if scene.scale_by == "card":
        return {**scale, "in_front_of_lens_plane_mm": in_front}
    return {**scale, "length_mm": length}


def _side(scene: Scene, rng: np.random.Generator) -> dict[str, Any]:
    """A scaled side view, 10 px a mm, the wearer facing to the right of the photo."""
    tilt = np.radians(scene.frame.pantoscopic_deg)
    half = scene.frame.b_mm / 2
    cornea_height = scene.wearer.height_right_mm - half
    at_cornea = scene.wearer.vertex_mm
    ahead = at_cornea - cornea_height * np.tan(tilt)
    view = {
        "rim_top": (ahead + half * np.sin(tilt), half * np.cos(tilt)),
        "rim_bottom": (ahead - half * np.sin(tilt), -half * np.cos(tilt)),
        "cornea": (0.0, cornea_height),
    }
    chin, roll = np.radians(scene.side_pose.chin_deg), np.radians(scene.side_pose.roll_deg)

    def pixel(forward: float, up: float, with_head: bool = True) -> list[float]:
        turned = (forward + 1j * up) * np.exp(1j * (roll + (chin if with_head else 0.0)))
        return _marked(np.array([1500 + 10 * turned.real, 2000 - 10 * turned.imag]), scene, rng)

    length = 40.0
    return {
        "width_px": 3000,
        "height_px": 4000,
        **{name: pixel(*place) for name, place in view.items()},
        "level": [pixel(-120.0, -60.0, False), pixel(120.0, -60.0, False)],
        "scale": {
            "by": "length",
            "length_mm": length + scene.scale_error_mm,
            "ends": [pixel(-60.0, 0.0), pixel(-60.0, -length)],
        },
        "mark_sd_px": scene.mark_sd_px,
    }


def random_scene(rng: np.random.Generator, **fixed: Any) -> Scene:
    """One wearer, frame, posture and camera drawn from what a practice sees; errors from the usual spreads."""
    a, b = rng.uniform(46, 58), rng.uniform(30, 46)
    pd = rng.normal(31.5, 1.6)
    height = b / 2 + rng.uniform(0, 6)
    with_side = bool(fixed.pop("with_side", rng.random() < 0.5))
    scene = Scene(
        wearer=Wearer(
            pd_right_mm=pd + rng.normal(0, 0.5),
            pd_left_mm=pd + rng.normal(0, 0.5),
            height_right_mm=height + rng.normal(0, 0.3),
            height_left_mm=height + rng.normal(0, 0.3),
            vertex_mm=rng.uniform(11, 16) if with_side else 13.5,
        ),
        frame=Frame(a_mm=a, b_mm=b, dbl_mm=rng.uniform(15, 22), pantoscopic_deg=rng.uniform(4, 14)),
        pose=Pose(turn_deg=rng.normal(), chin_deg=rng.normal(), roll_deg=rng.uniform(-2, 2)),
        side_pose=Pose(chin_deg=rng.normal(), roll_deg=rng.uniform(-5, 5)),
        camera=Camera(
            distance_mm=rng.uniform(400, 1200),
            aside_mm=rng.uniform(-30, 30),
            above_mm=rng.uniform(-30, 30),
            axis_aside_mm=rng.normal(0, 5),
            axis_above_mm=rng.normal(0, 10),
            focal_px=rng.uniform(2800, 4500),
        ),
        gaze=str(rng.choice(["camera", "far"])),
        scale_by=str(rng.choice(["frame", "card", "length"])),
        scale_error_mm=rng.normal(0, 0.1),
        card_in_front_mm=rng.uniform(0, 40),
        with_side=with_side,
        distance_given=bool(rng.random() < 0.3),
        mark_sd_px=1.5,
    )
    return replace(scene, **fixed)


def figures_of(fitting: dict[str, Any]) -> dict[str, dict[str, float]]:
    """A ``fitting/1`` flattened to ``right.pd_mm`` and the like; figures that are null are left out."""
    flat = {name: value for name, value in fitting.items() if isinstance(value, dict) and "value" in value}
    for eye in ("right", "left"):
        flat |= {f"{eye}.{name}": value for name, value in fitting[eye].items() if isinstance(value, dict)}
    return flat
