"""What the record asks of an uploaded picture, each asked of the child: the same names and refusals as in `photos`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from dispensing.decoding.one_at_a_time import in_child
from dispensing.fitting.documents import Eye
from dispensing.fitting.photos import Photo
from dispensing.fitting.pupils import Window

JOBS = "dispensing.fitting.picture_jobs"


def read_photo(content: bytes) -> Photo:
    """As `dispensing.fitting.photos.read_photo`. Raises PhotoRefused."""
    facts, jpeg = in_child(f"{JOBS}:photo", content)
    return Photo(jpeg, **facts)


def clean_picture(content: bytes, longest_px: int) -> bytes:
    """As `dispensing.fitting.photos.clean_picture`. Raises PhotoRefused."""
    return in_child(f"{JOBS}:clean", content, longest_px=longest_px)[1]


def thumbnail(jpeg: bytes) -> bytes:
    """As `dispensing.fitting.photos.thumbnail`. Raises PhotoRefused."""
    return in_child(f"{JOBS}:small", jpeg)[1]


def proposed_marks(
    jpeg: bytes, frame: dict[str, Any] | None, boxes: Mapping[Eye, Window], with_card: bool
) -> list[dict[str, Any]]:
    """``mark``, ``at`` [x, y] in px and ``confidence`` 0 to 1 of each that is surely found. Raises PhotoRefused.

    ``frame``: ``a_mm``, ``b_mm``, ``dbl_mm`` and ``mount``, or None. ``boxes``: lenses that are marked already.
    ``with_card``: whether the ends of a card are looked for.
    """
    told = {eye: asdict(window) for eye, window in boxes.items()}
    found: list[dict[str, Any]] = in_child(f"{JOBS}:marks", jpeg, frame=frame, boxes=told, with_card=with_card)[0]
    return found
