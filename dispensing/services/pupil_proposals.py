"""Proposing pupils in a stored photo: it opens the picture and looks where the boxes say. It writes nothing."""

from __future__ import annotations

from typing import Any

from dispensing.decoding.pictures import pupils
from dispensing.fitting.documents import EYES, Eye, FittingPoints
from dispensing.fitting.pupils import Window, lens_window
from dispensing.models import FittingPhoto
from dispensing.services.files import opened


def proposed_pupils(photo: FittingPhoto, points: FittingPoints) -> list[dict[str, Any]]:
    """``eye``, ``pupil`` [x, y] in px and ``confidence`` 0 to 1 for every pupil found. Raises PhotoRefused."""
    windows = {eye: _window(points, eye) for eye in EYES}
    with opened(photo.file) as stored:
        return pupils(stored.read(), windows["right"], windows["left"])


def _window(points: FittingPoints, eye: Eye) -> Window | None:
    marks = points.front.eye(eye) if points.front else None
    if marks is None or not (marks.nasal and marks.temporal and marks.top and marks.bottom):
        return None
    return lens_window(marks.nasal[0], marks.temporal[0], marks.top[1], marks.bottom[1])
