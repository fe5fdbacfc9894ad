"""Marks proposed on painted faces over skin, iris, tint, reflection and light: found, wrong and refused.

``python -m tests.fitting.painted_proposals [FACES]`` prints a row a condition, how often a mark of each confidence is
right, and the time of a photo of 12 megapixels. A mark is wrong where it lies more than half a millimetre off.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np

from dispensing.fitting.documents import EYES
from dispensing.fitting.seeing.proposal import propose
from dispensing.fitting.seeing.whereabouts import FrameSizes
from tests.fitting.painted_face import IRISES, RIMS, SKINS, PaintedFace, varied

WRONG_MM = 0.5
MOUNTED = {"full": "full_rim", "semi": "grooved", "rimless": "drilled"}
CONDITIONS: dict[str, dict[str, Any]] = {
    **{f"{skin} skin": {"skin": SKINS[skin]} for skin in SKINS},
    **{f"{iris} iris": {"iris": IRISES[iris]} for iris in IRISES},
    "tint 50 %": {"tint": 0.5},
    "tint 80 %": {"tint": 0.8},
    "reflection on 10 %": {"glare": 0.1},
    "reflection on 30 %": {"glare": 0.3},
    "hair over one side": {"hair_mm": 4.0},
    "light from the side": {"side_light": 0.6},
    **{f"{rim} rim": {"rim": RIMS[rim], "mount": "full"} for rim in RIMS},
    "rim half clear": {"clear": 0.4, "mount": "full"},
    "thin metal rim": {"rim_mm": 0.9, "rim": RIMS["metal"], "mount": "full"},
    "rim above only": {"mount": "semi"},
    "no rim": {"mount": "rimless"},
}


@dataclass(frozen=True)
class Judged:
    """One mark of one photo: how far off it lies in mm, None where it was refused."""

    mark: str
    off_mm: float | None
    confidence: float


def judged(face: PaintedFace, rng: np.random.Generator) -> Iterator[Judged]:
    """All ten marks of a painted face in a frame whose sizes are known as `engraved`."""
    marks = propose(face.paint(rng), engraved(face, rng)).marks
    truth = face.truth()
    for eye in EYES:
        for name, place in truth[eye].items():
            found = marks[eye].get(name)
            if found is None:
                yield Judged(name, None, 0.0)
            else:
                yield Judged(name, off_mm(face, name, np.array(found.at) - np.array(place)), found.confidence)


def engraved(face: PaintedFace, rng: np.random.Generator) -> FrameSizes:
    """Whole millimetres; the front stands tilted before the camera by some usual angle, which takes a little of B."""
    tilt = np.radians(np.clip(rng.normal(9, 3), 0, 18))
    return FrameSizes(round(face.a_mm), round(face.b_mm / np.cos(tilt)), round(face.dbl_mm), MOUNTED[face.mount])


def off_mm(face: PaintedFace, name: str, off_px: Any) -> float:
    """A pupil is off by its distance, a side of a box only across itself."""
    roll = np.radians(face.roll_deg)
    if name == "pupil":
        return float(np.hypot(*off_px)) / face.px_per_mm
    across = (np.cos(roll), np.sin(roll)) if name in ("nasal", "temporal") else (-np.sin(roll), np.cos(roll))
    return abs(float(off_px @ np.array(across))) / face.px_per_mm


def of_condition(name: str, faces: int) -> list[Judged]:
    """Every mark on ``faces`` faces of a condition; what it does not say of a face is drawn by chance."""
    found: list[Judged] = []
    for seed in range(faces):
        rng = np.random.default_rng([seed, len(name)])
        usual = {"skin": any_of(rng, SKINS), "iris": any_of(rng, IRISES)}
        found.extend(judged(varied(rng, **{**usual, **CONDITIONS[name]}), rng))
    return found


def any_of(rng: np.random.Generator, table: dict[str, Any]) -> Any:
    """One of a table by chance."""
    return table[str(rng.choice(list(table)))]


def counted(marks: list[Judged]) -> Counter[str]:
    """How many were found, wrong and refused."""
    return Counter("refused" if one.off_mm is None else "wrong" if one.off_mm > WRONG_MM else "found" for one in marks)


def main(faces: int) -> None:
    everything: list[Judged] = []
    print(f"{'':22s} {'pupils':^24s}   {'sides of lenses':^24s}   {faces} faces a row")
    for name in CONDITIONS:
        marks = of_condition(name, faces)
        everything += marks
        pupils = [one for one in marks if one.mark == "pupil"]
        sides = [one for one in marks if one.mark != "pupil"]
        row = [f"{counted(part)[what]:4d} {what}" for part in (pupils, sides) for what in ("found", "wrong", "refused")]
        print(f"{name:22s} " + " ".join(row))
    for kind in ("pupil", "side"):
        print(f"\n{kind}s: of marks as sure as this, so many are right, and lie so far off")
        _print_sureness([one for one in everything if (one.mark == "pupil") == (kind == "pupil")])
    _time()


def _print_sureness(marks: list[Judged]) -> None:
    for low in np.arange(0.5, 1.0, 0.1):
        off = np.array([one.off_mm for one in marks if one.off_mm is not None and low <= one.confidence < low + 0.1001])
        if len(off):
            right, median = 100 * np.mean(off <= WRONG_MM), np.median(off)
            print(f"  {low:.1f} to {low + 0.1:.1f}: {len(off):5d} marks, {right:5.1f} % right, median {median:.2f} mm")


def _time() -> None:
    cv2.setNumThreads(1)
    large = replace(PaintedFace(), size=(4000, 3000), px_per_mm=6.0, middle=(2000.0, 1400.0))
    photo = large.paint(np.random.default_rng(0))
    spent = []
    for _ in range(4):
        start = time.process_time()
        propose(photo, FrameSizes(large.a_mm, large.b_mm, large.dbl_mm))
        spent.append(1000 * (time.process_time() - start))
    print(f"\n12 megapixels: {spent[0]:.0f} ms with loading, then {min(spent[1:]):.0f} ms of processor time")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 12)
