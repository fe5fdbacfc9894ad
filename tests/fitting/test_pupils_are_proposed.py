"""Proposed pupils compared with irises drawn at known places and with a real, freely given face photo."""

from __future__ import annotations

from dataclasses import dataclass, replace
from importlib.metadata import files

import numpy as np
import pytest
from PIL import Image

from dispensing.fitting import pupils
from dispensing.fitting.documents import EYES, Eye
from dispensing.fitting.pupils import Pupil, Window, lens_window
from dispensing.fitting.seeing import proposal
from dispensing.fitting.seeing.face import RgbImage
from dispensing.fitting.seeing.proposal import propose
from tests.fitting.drawn_eyes import DrawnEye, DrawnFace, random_face
from tests.known import there

# The portrait of Eileen Collins (NASA, public domain) that scikit-image ships. Irises marked by eye at twentyfold
# enlargement, good to half a pixel; the PD on it is 43 px, so a pixel is 1.5 mm.
MARKED_BY_EYE = {"right": (203.7, 100.7), "left": (246.6, 103.0)}


def portrait() -> Image.Image:
    path = next(path for path in there(files("scikit-image")) if path.name == "astronaut.png")
    return Image.open(path.locate()).convert("RGB")


def windows(face: DrawnFace) -> list[Window]:
    boxes = [face.box(eye) for eye in (face.right, face.left)]
    return [lens_window(left, right, top, bottom) for left, top, right, bottom in boxes]


@dataclass(frozen=True)
class Found:
    right: Pupil | None
    left: Pupil | None


def propose_pupils(photo: RgbImage, *boxes: Window) -> Found:
    seen = propose(photo, None, dict(zip(EYES, boxes))).marks
    radius = boxes[0].iris_radius_px if boxes else 0.0

    def pupil(eye: Eye) -> Pupil | None:
        one = seen[eye].get("pupil")
        return None if one is None else Pupil(*one.at, radius, one.confidence)

    return Found(pupil("right"), pupil("left"))


@pytest.fixture
def _also_less_sure(monkeypatch: pytest.MonkeyPatch) -> None:
    """The irises of the portrait are seven pixels wide, on which nobody would rest a lens."""
    monkeypatch.setattr(proposal, "LEAST_SURE", 0.75)


@pytest.mark.usefixtures("_also_less_sure")
def test_on_a_real_portrait_the_proposals_lie_within_a_pixel_of_the_marks_made_by_eye() -> None:
    found = propose_pupils(np.asarray(portrait()))
    for eye, place in MARKED_BY_EYE.items():
        pupil = getattr(found, eye)
        off = np.hypot(pupil.x_px - place[0], pupil.y_px - place[1])
        print(f"{eye}: {off:.2f} px from the mark made by eye, confidence {pupil.confidence:.2f}")
        assert off < 1.0
        assert pupil.confidence > 0.6


@pytest.mark.usefixtures("_also_less_sure")
@pytest.mark.parametrize("factor", [2, 3])
def test_the_same_portrait_larger_gives_the_same_place(factor: int) -> None:
    small = propose_pupils(np.asarray(portrait()))
    large = propose_pupils(np.asarray(portrait().resize((512 * factor, 512 * factor), Image.Resampling.BICUBIC)))
    for eye in ("right", "left"):
        one, other = getattr(small, eye), getattr(large, eye)
        assert other.x_px / factor == pytest.approx(one.x_px, abs=0.5)
        assert other.y_px / factor == pytest.approx(one.y_px, abs=0.5)


@pytest.mark.usefixtures("_also_less_sure")
def test_a_mirrored_portrait_gives_mirrored_pupils() -> None:
    plain = propose_pupils(np.asarray(portrait()))
    mirrored = propose_pupils(np.ascontiguousarray(np.asarray(portrait())[:, ::-1]))
    assert there(mirrored.left).x_px == pytest.approx(512 - there(plain.right).x_px, abs=0.4)
    assert there(mirrored.right).y_px == pytest.approx(there(plain.left).y_px, abs=0.4)


def test_irises_behind_drawn_lenses_are_found_to_a_fifth_of_a_millimetre() -> None:
    rng = np.random.default_rng(3)
    errors = []
    for _ in range(30):
        face = random_face(rng)
        found = propose_pupils(face.draw(rng), *windows(face))
        for eye, pupil in ((face.right, found.right), (face.left, found.left)):
            errors.append(np.hypot(there(pupil).x_px - eye.x_px, there(pupil).y_px - eye.y_px) / face.px_per_mm)
    print(f"drawn eyes: median {np.median(errors):.3f} mm, 95 % below {np.percentile(errors, 95):.3f} mm")
    assert np.percentile(errors, 95) < 0.2
    assert max(errors) < 0.4


def test_a_closed_eye_is_not_proposed_and_the_open_one_still_is() -> None:
    rng = np.random.default_rng(4)
    face = random_face(rng)
    winking = replace(face, left=replace(face.left, lid_mm=12.5))
    found = propose_pupils(winking.draw(rng), *windows(winking))
    assert found.left is None
    assert found.right is not None


def test_a_photo_without_a_face_proposes_nothing() -> None:
    blank = np.full((480, 640, 3), 180, np.uint8)
    noise = np.random.default_rng(1).integers(0, 255, (480, 640, 3), dtype=np.uint8)
    for photo in (blank, noise):
        found = propose_pupils(photo)
        assert found.right is None
        assert found.left is None


def test_a_window_outside_the_photo_proposes_nothing() -> None:
    photo = np.full((100, 100, 3), 180, np.uint8)
    outside = Window(200.0, 200.0, 260.0, 240.0, 5.0)
    assert propose_pupils(photo, outside, outside).right is None


def test_irises_of_very_unequal_size_are_doubted() -> None:
    face = DrawnFace(5.0, DrawnEye(220.0, 200.0), DrawnEye(530.0, 200.0), noise_sd=0.0)
    _, left = windows(face)
    photo = face.draw(np.random.default_rng(0))
    equal = there(pupils.find_iris(grey(photo), left))
    # The left window is cut from the same picture at half its size, as if that eye were half as large.
    small = np.asarray(Image.fromarray(photo).resize((photo.shape[1] // 2, photo.shape[0] // 2), Image.Resampling.BOX))
    photo[:] = 200
    photo[: small.shape[0], small.shape[1] : 2 * small.shape[1]] = small
    halved = Window(*(value / 2 for value in (left.left, left.top, left.right, left.bottom, left.iris_radius_px)))
    moved = replace(halved, left=halved.left + small.shape[1], right=halved.right + small.shape[1])
    lone = there(pupils.find_iris(grey(photo), moved))
    assert lone.iris_radius_px == pytest.approx(equal.iris_radius_px / 2, rel=0.1)
    doubted = pupils._doubt_unequal_eyes([equal, lone])
    assert all(there(pupil).confidence < 0.5 for pupil in doubted)


def grey(photo: RgbImage) -> RgbImage:
    return np.asarray(Image.fromarray(photo).convert("L"))
