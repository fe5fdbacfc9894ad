"""Proposing marks on a stored photo, by the sizes that the record knows of the frame. It writes nothing."""

from __future__ import annotations

from typing import Any

from dispensing.decoding.pictures import proposed_marks
from dispensing.fitting.documents import EYES, Eye, FittingPoints
from dispensing.fitting.pupils import Window, lens_window
from dispensing.models import FittingPhoto
from dispensing.queries.photo_fittings import frame_facts
from dispensing.services.files import opened


def marks_for(photo: FittingPhoto, points: FittingPoints) -> list[dict[str, Any]]:
    """``mark`` (as in ``right.pupil``), ``at`` [x, y] in px and ``confidence`` of each that is surely found.

    Where a card gives the scale, its ends are looked for too (``scale.ends.0``). Raises PhotoRefused.
    """
    windows = {eye: window for eye in EYES if (window := _window(points, eye)) is not None}
    frame = frame_facts(photo.measuring.frame)
    sizes = {"a_mm": frame.a_mm, "b_mm": frame.b_mm, "dbl_mm": frame.dbl_mm}
    known = None if None in sizes.values() else {**sizes, "mount": photo.measuring.frame.mount}
    by_card = bool(points.front and points.front.scale and points.front.scale.by == "card")
    with opened(photo.file) as stored:
        return proposed_marks(stored.read(), known, windows, by_card)


def _window(points: FittingPoints, eye: Eye) -> Window | None:
    marks = points.front.eye(eye) if points.front else None
    if marks is None or not (marks.nasal and marks.temporal and marks.top and marks.bottom):
        return None
    return lens_window(marks.nasal[0], marks.temporal[0], marks.top[1], marks.bottom[1])
