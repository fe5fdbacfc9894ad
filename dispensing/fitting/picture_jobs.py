"""The record's pictures as a child process opens them: each function gives facts that JSON can hold, and bytes."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from PIL import Image

from dispensing.fitting.photos import DECODING_ERRORS, PhotoRefused, clean_picture, read_photo, thumbnail

DAMAGED = "The photo is damaged: it cannot be read to its end. Send it again."
Found = tuple[Any, bytes]


def photo(content: bytes) -> Found:
    read = read_photo(content)
    facts = {name: getattr(read, name) for name in ("width_px", "height_px", "focal_px", "focal_percent")}
    return facts, read.jpeg


def clean(content: bytes, longest_px: int) -> Found:
    return None, clean_picture(content, longest_px)


def small(content: bytes) -> Found:
    try:
        return None, thumbnail(content)
    except DECODING_ERRORS as error:
        raise PhotoRefused(DAMAGED) from error


def pupils(content: bytes, right: dict[str, float] | None, left: dict[str, float] | None) -> Found:
    # Only here: a scan needs no vision library, whose loading takes most of the child's memory.
    from dispensing.fitting.pupils import Window, propose_pupils

    try:
        with Image.open(io.BytesIO(content), formats=("JPEG",)) as picture:
            pixels = np.asarray(picture.convert("RGB"))
    except DECODING_ERRORS as error:
        raise PhotoRefused(DAMAGED) from error
    found = propose_pupils(pixels, *(None if window is None else Window(**window) for window in (right, left)))
    return [
        {"eye": eye, "pupil": [round(pupil.x_px, 1), round(pupil.y_px, 1)], "confidence": round(pupil.confidence, 2)}
        for eye, pupil in (("right", found.right), ("left", found.left))
        if pupil is not None
    ], b""
