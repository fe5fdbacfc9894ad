"""The record's pictures as a child process opens them: each function gives facts that JSON can hold, and bytes."""

from __future__ import annotations

from typing import Any

from dispensing.fitting.documents import Eye
from dispensing.fitting.photos import (
    DECODING_ERRORS,
    PhotoRefused,
    clean_picture,
    read_photo,
    thumbnail,
    upright_pixels,
)

DAMAGED = "The photo is damaged: it cannot be read to its end. Send it again."
Found = tuple[Any, bytes]


def photo(content: bytes) -> Found:
    read = read_photo(content)
    facts = {name: getattr(read, name) for name in ("width_px", "height_px", "focal_px", "focal_percent", "focal_lost")}
    return facts, read.jpeg


def clean(content: bytes, longest_px: int) -> Found:
    return None, clean_picture(content, longest_px)


def small(content: bytes) -> Found:
    try:
        return None, thumbnail(content)
    except DECODING_ERRORS as error:
        raise PhotoRefused(DAMAGED) from error


def marks(content: bytes, frame: dict[str, Any] | None, boxes: dict[Eye, dict[str, float]], with_card: bool) -> Found:
    # Only here: a scan needs no vision library, whose loading takes most of the child's memory.
    from dispensing.fitting.pupils import Window
    from dispensing.fitting.seeing.networks import NetworksMissing
    from dispensing.fitting.seeing.proposal import propose
    from dispensing.fitting.seeing.whereabouts import FrameSizes

    windows = {eye: Window(**window) for eye, window in boxes.items()}
    try:
        known = None if frame is None else FrameSizes(**frame)
        found = propose(upright_pixels(content), known, windows, with_card)
    except NetworksMissing as missing:
        raise PhotoRefused(str(missing)) from missing
    told = [
        _told(f"{eye}.{name}", *mark.at, mark.confidence)
        for eye, seen in found.marks.items()
        for name, mark in seen.items()
    ]
    if found.card:
        told += [_told(f"scale.ends.{number}", *end, found.card.sure) for number, end in enumerate(found.card.ends)]
    return told, b""


def _told(mark: str, x: float, y: float, confidence: float) -> dict[str, Any]:
    return {"mark": mark, "at": [round(x, 1), round(y, 1)], "confidence": round(confidence, 2)}
