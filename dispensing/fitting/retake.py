"""What stands between a photo and its figures: what is not marked, what cannot be right, what spoiled the photo itself.

Only what no mark and no typed length can repair is a reason to take a photo again. A wide ± is none: it is honest, and
a note says what would make it smaller. It reads the points and the propagated figures and must never do geometry.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final, NamedTuple

import numpy as np

from dispensing.fitting.chain import COVERAGE_FACTOR, Propagated
from dispensing.fitting.documents import EYES, FittingPoints, FrontPhoto, Scale, SidePhoto
from dispensing.fitting.inputs import BOX_MARKS, SIDE_MARKS, known_length_mm
from dispensing.fitting.mistakes import mark_words
from dispensing.trade import figure

TAKE_AGAIN: Final = "take_again"
TO_MARK: Final = "to_mark"
TO_CHECK: Final = "to_check"
TURNED: Final = "turned_eye"
NOTE: Final = "notes"


class Reason(NamedTuple):
    """``kind``: ``TAKE_AGAIN``; ``TO_MARK``, a mark or a fact is missing or misplaced; ``TO_CHECK``, something that is
    given cannot be right; ``TURNED``, an eye does not look where the other does; or ``NOTE``, nothing is wrong.
    """

    kind: str
    text: str


def as_told(reasons: Iterable[Reason]) -> dict[str, Any]:
    """``retake`` of a ``fitting/1`` with everything that is to be done, and under ``extra`` what is less than that."""
    of: dict[str, list[str]] = {}
    for kind, text in reasons:
        of.setdefault(kind, []).append(text)
    to_do = (*of.get(TO_MARK, ()), *of.get(TAKE_AGAIN, ()), *of.get(TO_CHECK, ()))
    less = {kind: of[kind] for kind in (TO_MARK, TO_CHECK, TURNED, NOTE) if kind in of}
    return {"retake": to_do, "extra": less or None}


POSE = "photo-pose"

LARGEST_TURN_DEG = figure(POSE, "turn_most_deg")
"""A head turned further than this splits the PDs by 1.4 mm a side or more."""

LARGEST_BELIEVABLE_TURN_DEG = figure(POSE, "turn_believable_deg")
"""Nobody is photographed from the front with the head turned further than this; the marks are more likely wrong."""

LARGEST_ROLL_DEG = figure(POSE, "roll_most_deg")
FARTHEST_DISTANCE_MM = figure(POSE, "distance_most_mm")
SHORTEST_DISTANCE_MM = figure(POSE, "distance_least_mm")
"""Nearer than this the eyes converge by more than 2.5 mm a side, and 10 mm of distance makes 0.1 mm."""

LARGEST_CAMERA_ANGLE = figure(POSE, "camera_off_share")
"""Camera off eye level, as a fraction of the distance: beyond this the correction of a height exceeds 4 mm."""

LARGEST_PLUS_MINUS_MM = figure(POSE, "plus_minus_most_mm")
"""Twice the tolerance of 1.0 mm on a finished fitting cross (ANSI Z80.1-2015): such a figure cannot decide anything."""

DISTANCES_AGREE = figure(POSE, "distances_apart_share")
"""The given and the photographed camera distance may differ by this fraction: 0.2 mm in the PD at 1 m."""

LEVERS = {
    "marks": "mark at a larger zoom or come nearer",
    "scale": "use a longer known length",
    "distance": "measure the camera distance",
    "head turn": "have the wearer face the camera squarely",
    "chin": "have the wearer hold the head naturally",
    "camera off the eyes' level": "say by how much the camera pointed up or down, or stand further back",
    "camera off the middle": "hold the camera straight in front of the nose, or stand further back",
    "face form": "measure the face form",
    "centre of rotation": "measure the vertex distance with a side photo",
    "how deep the lens sits in its groove": "mark the lens's own edge where it shows",
    "how alike the two lenses of a frame are made": "take the photo nearer",
    "the rim before the lens": "mark the rim where the lens sits in it",
    "where the worn lens is centred": "say where its centre lies, or take the photo without it",
    "where the known length was held": "measure how far before the lenses it was held, or take the frame as the scale",
}


def missing_in(points: FittingPoints) -> Iterator[Reason]:
    """What the photos do not show but some figure needs, and what is only taken as usual."""
    if points.front is None and points.side is None:
        yield Reason(TAKE_AGAIN, "there is neither a front nor a side photo")
    yield from (Reason(TO_MARK, text) for text in _unsaid(points))
    if points.front is not None:
        yield from _taken_as_usual(points.front)


def _unsaid(points: FittingPoints) -> Iterator[str]:
    if points.front is not None:
        yield from _missing_in_front(points.front)
    if points.side is not None:
        yield from _missing_in_side(points.side)
    if points.near_distance_mm is not None and points.near_distance_mm <= 0:
        yield f"near_distance_mm is {points.near_distance_mm:g}; it must be more than 0"


def _taken_as_usual(front: FrontPhoto) -> Iterator[Reason]:
    if front.focal_px is None and front.camera_distance_mm is None:
        yield Reason(
            NOTE,
            "neither the focal length nor the camera distance is known, so a usual distance is taken and the ± is "
            "wide; measure from the camera to the frame to make it smaller",
        )


def _missing_in_front(front: FrontPhoto) -> Iterator[str]:
    for eye in EYES:
        missing = [mark for mark in BOX_MARKS if getattr(front.eye(eye), mark) is None]
        for mark in missing:
            yield f"the {mark_words(f'front.{eye}.{mark}')} is missing on the front photo: mark it"
    if front.width_px is None or front.height_px is None:
        yield "the size of the front photo is missing, so its middle is not known"
    if front.gaze is None:
        yield "it is not said whether the wearer looked at the camera or far away"
    both_given = front.focal_px is not None and front.camera_distance_mm is not None
    if not (front.scale is None and both_given):
        yield from _missing_in_scale(front.scale, "front")
    if front.scale is not None and front.scale.by == "card" and front.scale.in_front_of_lens_plane_mm is None:
        yield "it is not said how far the card was held before the lens plane"


def _missing_in_side(side: SidePhoto) -> Iterator[str]:
    for mark in SIDE_MARKS:
        if getattr(side, mark) is None:
            yield f"the {mark_words(f'side.{mark}')} is missing on the side photo: mark it"
    if side.level is None:
        yield "no level line is marked on the side photo"
    yield from _missing_in_scale(side.scale, "side")


def _missing_in_scale(scale: Scale | None, photo: str) -> Iterator[str]:
    if scale is None or np.isnan(known_length_mm(scale)):
        yield f"the {photo} photo has no known length: give A and DBL, a card, or any known length"
    elif scale.by != "frame" and scale.ends is None:
        yield f"the ends of the known length are not marked on the {photo} photo"


def posture_reasons(propagated: Propagated) -> Iterator[Reason]:
    """How the wearer or the camera was placed, where that is too far from what the figures assume.

    A frame that leans is no reason up to 6°: the roll is taken out whole.
    """
    value = dict(zip(propagated.figures, propagated.values.tolist(), strict=True))
    plus_minus = dict(zip(propagated.figures, (COVERAGE_FACTOR * propagated.sd).tolist(), strict=True))
    turn, roll = value.get("head_turn_deg", np.nan), value.get("roll_deg", np.nan)
    if abs(turn) > max(LARGEST_BELIEVABLE_TURN_DEG, plus_minus.get("head_turn_deg", 0.0)):
        text = f"the two boxes are as unequal as if the head were turned by {abs(turn):.0f}°; check their marks"
        yield Reason(TO_CHECK, text)
    elif abs(turn) > max(LARGEST_TURN_DEG, plus_minus.get("head_turn_deg", 0.0)):
        side = "left" if turn > 0 else "right"
        text = f"the head is turned {abs(turn):.1f}° to the wearer's {side}; at most {LARGEST_TURN_DEG:g}° is allowed"
        yield Reason(TAKE_AGAIN, text)
    if abs(roll) > LARGEST_ROLL_DEG:
        text = f"the frame leans {abs(roll):.1f}° in the photo; at most {LARGEST_ROLL_DEG:g}° is allowed"
        yield Reason(TAKE_AGAIN, text)
    yield from _camera_reasons(value)


def _camera_reasons(value: dict[str, float]) -> Iterator[Reason]:
    distance = value.get("camera_distance_mm", np.nan)
    if distance < SHORTEST_DISTANCE_MM:
        text = f"the camera was only {distance:.0f} mm from the frame; stand at least {SHORTEST_DISTANCE_MM:g} mm away"
        yield Reason(TAKE_AGAIN, text)
    elif distance > FARTHEST_DISTANCE_MM:
        yield Reason(
            TO_CHECK,
            f"the camera comes out {distance:.0f} mm from the frame, farther than such a photo is taken; check the "
            "focal length and the known length",
        )
    above = value.get("camera_above_eyes_mm", np.nan)
    if abs(above) > LARGEST_CAMERA_ANGLE * distance:
        where = "above" if above > 0 else "below"
        text = f"the camera was {abs(above):.0f} mm {where} the eyes' level; hold it level at the eyes' height"
        yield Reason(TAKE_AGAIN, text)
    aside = value.get("camera_sideways_mm", np.nan)
    if abs(aside) > LARGEST_CAMERA_ANGLE * distance:
        text = f"the camera was {abs(aside):.0f} mm beside the bridge; hold it straight in front of the nose"
        yield Reason(TAKE_AGAIN, text)
    photographed = value.get("distance_by_focal_mm", np.nan)
    if abs(photographed - distance) > DISTANCES_AGREE * distance:
        yield Reason(
            TO_CHECK,
            f"the given camera distance of {distance:.0f} mm disagrees with {photographed:.0f} mm from the focal "
            "length and the scale; check both, and that the photo was not cropped",
        )


def large_doubts(propagated: Propagated) -> Iterator[Reason]:
    """PDs and heights whose ± decides little, with the main cause and what would make it smaller."""
    shares = propagated.shares
    sds = propagated.sd
    for index, name in enumerate(propagated.figures):
        eye, _, figure = name.rpartition(".")
        plus_minus = COVERAGE_FACTOR * sds[index]
        if figure in ("pd_mm", "height_mm") and plus_minus > LARGEST_PLUS_MINUS_MM:
            if not np.isfinite(propagated.values[index]):
                continue
            cause = max(shares, key=lambda source: float(shares[source][index]))
            words = "PD" if figure == "pd_mm" else "height"
            yield Reason(
                NOTE,
                f"the {eye} {words} is only known to ±{plus_minus:.1f} mm, mostly because of {cause} "
                f"({100 * float(shares[cause][index]):.0f} %); {LEVERS[cause]}",
            )
