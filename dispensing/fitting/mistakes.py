"""Marking mistakes that make a photo useless, each reported in plain words before anything is measured.

It looks at where the marks lie and must never know about spreads or figures. Nothing is measured on a photo with a
mistake: a figure from exchanged eyes, or from a mark outside the photo, would look genuine and mean nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from dispensing.fitting.anatomy import ID1_CARD_LENGTH_MM
from dispensing.fitting.documents import EYES, Eye, EyeMarks, FrontPhoto, Pixel, Scale, SidePhoto
from dispensing.fitting.inputs import BOX_MARKS, SIDE_MARKS, known_length_mm
from dispensing.trade import figure

MARKS = "photo-marks"

SIDE_VIEW_WIDTH_RATIO = figure(MARKS, "one_box_wider_share")
"""With one box this many times as wide as the other it cannot be a front photo: a turn of 10° at 400 mm makes 1.07."""

NARROWEST_LENS = figure(MARKS, "narrowest_lens_share")
"""A lens is hardly ever narrower than it is deep, unless it is seen from the side."""

FACE_FORM_DEG = (figure("typed-fitting", "face_form_least_deg"), figure("typed-fitting", "face_form_most_deg"))
"""No front is bent further than this, forwards or back."""

SMALLEST, LARGEST = 1.0, 1e6
"""In pixels or mm: no photo, focal length or distance is smaller or larger than this."""

LONGEST_MM = figure(MARKS, "known_length_most_mm")
"""No rule or card that a wearer holds beside the face is longer than this."""

FROM_THE_SIDE = "this looks like a side photo used as the front"
NOT_FROM_THE_SIDE = "this does not look like a photo from the side"
"""What these are about no mark can repair; every other mistake is one of marks or of typed figures."""

STEEPEST_LEVEL_DEG = figure(MARKS, "level_most_deg")
FLATTEST_RIM_DEG = figure(MARKS, "rim_least_deg")


def front_mistakes(front: FrontPhoto) -> tuple[str, ...]:
    """What is wrong with the marks of a front photo; empty when it can be measured."""
    found = [*_outside(front, _front_marks(front)), *_impossible_sizes(front), *_bad_scale(front.scale)]
    found.extend(_bad_face_form(front.face_form_deg))
    right, left = front.eye("right"), front.eye("left")
    if _exchanged(right, left):
        return (
            *found,
            "the right and left eyes are exchanged: the wearer's right eye is on the left of a front photo; "
            "give each box to the other eye",
        )
    found.extend(fault for eye in EYES for fault in _bad_box(eye, front.eye(eye)))
    if not found:
        found.extend(_bad_pair(right, left))
        found.extend(_card_longer_than_face(front.scale, right, left))
    return tuple(found)


def side_mistakes(side: SidePhoto) -> tuple[str, ...]:
    """What is wrong with the marks of a side photo; empty when it can be measured."""
    found = [*_outside(side, _side_marks(side)), *_impossible_sizes(side), *_bad_scale(side.scale)]
    found.extend(_bad_level(side))
    found.extend(_bad_rim(side))
    if side.scale is not None and side.scale.by == "frame":
        found.append(
            "A and DBL cannot be seen from the side: give a card or a known length as the scale of the side photo"
        )
    return tuple(found)


def is_of_the_photo(fault: str) -> bool:
    """Whether a mistake lies in the photo itself, so that no mark repairs it."""
    return FROM_THE_SIDE in fault or NOT_FROM_THE_SIDE in fault


def _front_marks(front: FrontPhoto) -> Iterator[tuple[str, Pixel | None]]:
    for eye in EYES:
        for mark in BOX_MARKS:
            yield mark_words(f"front.{eye}.{mark}"), getattr(front.eye(eye), mark)
    yield from _scale_marks(front.scale)


def _side_marks(side: SidePhoto) -> Iterator[tuple[str, Pixel | None]]:
    for mark in SIDE_MARKS:
        yield mark_words(f"side.{mark}"), getattr(side, mark)
    for end in side.level or ():
        yield "end of the level line", end
    yield from _scale_marks(side.scale)


def _scale_marks(scale: Scale | None) -> Iterator[tuple[str, Pixel | None]]:
    if scale is not None:
        for end in scale.ends or ():
            yield "end of the known length", end


def mark_words(name: str) -> str:
    """``front.right.nasal`` as the trade says it: "right nasal mark"."""
    words = name.split(".")[1:]
    if words[0] in ("scale", "level"):
        line = "known length" if words[0] == "scale" else "level line"
        return f"{('first', 'second')[int(words[-1])]} end of the {line}"
    return " ".join(words).replace("_", " ") + " mark"


def _outside(photo: FrontPhoto | SidePhoto, marks: Iterator[tuple[str, Pixel | None]]) -> Iterator[str]:
    width = LARGEST if photo.width_px is None else photo.width_px
    height = LARGEST if photo.height_px is None else photo.height_px
    for words, point in marks:
        if point is not None and not (0 <= point[0] <= width and 0 <= point[1] <= height):
            yield (
                f"the {words} at ({point[0]:g}, {point[1]:g}) lies outside the photo of "
                f"{width:g} by {height:g} px; mark it again"
            )


def _impossible_sizes(photo: FrontPhoto | SidePhoto) -> Iterator[str]:
    for name in ("width_px", "height_px", "focal_px", "camera_distance_mm"):
        value = getattr(photo, name, None)
        if value is not None and value <= 0:
            yield f"{name} is {value:g}; it must be more than 0"
        elif value is not None and not SMALLEST <= value <= LARGEST:
            yield f"{name} is {value:g}; possible is {SMALLEST:g} to {LARGEST:.0f}"
    if photo.mark_sd_px is not None and abs(photo.mark_sd_px) > LARGEST:
        yield f"mark_sd_px is {photo.mark_sd_px:g}; possible is at most {LARGEST:.0f}"


def _bad_face_form(face_form_deg: float | None) -> Iterator[str]:
    low, high = FACE_FORM_DEG
    if face_form_deg is not None and not low <= face_form_deg <= high:
        yield f"the face form is {face_form_deg:g}°; possible is {low:g} to {high:g}°"


def _bad_scale(scale: Scale | None) -> Iterator[str]:
    if scale is None:
        return
    length = known_length_mm(scale)
    if length <= 0:
        yield f"the known length of the scale is {length:g} mm; it must be more than 0"
    if length > LONGEST_MM:
        yield f"the known length of the scale is {length:g} mm; possible is at most {LONGEST_MM:g} mm"
    if scale.ends is not None and scale.by != "frame" and _apart(*scale.ends) < 1:
        yield "both ends of the known length are marked at the same place; mark its two ends"


def _apart(first: Pixel, second: Pixel) -> float:
    return math.hypot(second[0] - first[0], second[1] - first[1])


def _middle(marks: EyeMarks) -> float | None:
    """Positions across the photo of whatever is marked of this eye's box."""
    known = [point[0] for point in (marks.nasal, marks.temporal) if point is not None]
    return sum(known) / 2 if len(known) == 2 else None


def _exchanged(right: EyeMarks, left: EyeMarks) -> bool:
    right_middle, left_middle = _middle(right), _middle(left)
    if right_middle is None or left_middle is None:
        pupils = right.pupil, left.pupil
        return pupils[0] is not None and pupils[1] is not None and pupils[0][0] > pupils[1][0]
    return right_middle > left_middle


def _bad_box(eye: Eye, marks: EyeMarks) -> Iterator[str]:
    inwards = 1 if eye == "right" else -1
    if marks.nasal and marks.temporal and inwards * (marks.nasal[0] - marks.temporal[0]) <= 0:
        yield f"nasal and temporal of the {eye} box are exchanged: nasal is the side towards the nose"
    if marks.top and marks.bottom and marks.top[1] >= marks.bottom[1]:
        yield f"top and bottom of the {eye} box are exchanged: top is the side towards the brow"


def _bad_pair(right: EyeMarks, left: EyeMarks) -> Iterator[str]:
    if right.nasal and left.nasal and right.nasal[0] >= left.nasal[0]:
        yield "the two boxes overlap: the bridge lies between them; draw each box around its own lens only"
    widths = [
        _apart(eye.nasal, eye.temporal) for eye in (right, left) if eye.nasal is not None and eye.temporal is not None
    ]
    if len(widths) == 2 and max(widths) > SIDE_VIEW_WIDTH_RATIO * min(widths):
        yield (
            f"{FROM_THE_SIDE}: one lens is {max(widths) / min(widths):.1f} times as "
            "wide as the other; take the front photo from straight ahead"
        )
    for words, eye in (("right", right), ("left", left)):
        if _is_narrow(eye):
            yield (
                f"{FROM_THE_SIDE}: the {words} lens is much narrower than it is deep; "
                "take the front photo from straight ahead"
            )
    if _behind(right, left) and _behind(left, right):
        yield "the right and left pupil marks are exchanged; give each mark to the other eye"
        return
    for words, eye in (("right", right), ("left", left)):
        if eye.pupil and eye.nasal and eye.temporal and not _behind(eye, eye):
            yield f"the {words} pupil mark lies beside the {words} box; mark the pupil behind its own lens"


def _behind(eye: EyeMarks, lens: EyeMarks) -> bool:
    """Whether the pupil of ``eye`` is marked between the two sides of the box of ``lens``."""
    return bool(eye.pupil and lens.nasal and lens.temporal and _between(eye.pupil[0], lens.nasal[0], lens.temporal[0]))


def _is_narrow(eye: EyeMarks) -> bool:
    if not (eye.nasal and eye.temporal and eye.top and eye.bottom):
        return False
    return abs(eye.nasal[0] - eye.temporal[0]) < NARROWEST_LENS * abs(eye.bottom[1] - eye.top[1])


def _between(value: float, first: float, second: float) -> bool:
    return min(first, second) <= value <= max(first, second)


def _card_longer_than_face(scale: Scale | None, right: EyeMarks, left: EyeMarks) -> Iterator[str]:
    """A card of 85.6 mm is shorter than any front from side to side, even when held some way in front of it."""
    if scale is None or scale.by != "card" or scale.ends is None or not right.temporal or not left.temporal:
        return
    card, face = _apart(*scale.ends), _apart(right.temporal, left.temporal)
    if card > face:
        yield (
            f"the card is marked {card:.0f} px long, longer than the face at the frame ({face:.0f} px); "
            f"mark the two ends of its long side, {ID1_CARD_LENGTH_MM:g} mm"
        )


def _bad_level(side: SidePhoto) -> Iterator[str]:
    if side.level is None:
        return
    (x0, y0), (x1, y1) = side.level
    if (x0, y0) == (x1, y1):
        yield "both ends of the level line are marked at the same place; mark a long level line"
    elif abs(math.degrees(math.atan2(y1 - y0, abs(x1 - x0)))) > STEEPEST_LEVEL_DEG:
        yield "the level line is far from level in the photo; turn the photo upright or mark another line"


def _bad_rim(side: SidePhoto) -> Iterator[str]:
    if side.rim_top is None or side.rim_bottom is None:
        return
    across, down = side.rim_bottom[0] - side.rim_top[0], side.rim_bottom[1] - side.rim_top[1]
    if down <= 0:
        yield "rim top and rim bottom are exchanged: the top is the one towards the brow"
    elif abs(math.degrees(math.atan2(across, down))) > FLATTEST_RIM_DEG:
        yield (
            f"the line through the rims lies flatter than {FLATTEST_RIM_DEG:g}°: {NOT_FROM_THE_SIDE}; mark the top and "
            "bottom of the rim on a side photo"
        )
