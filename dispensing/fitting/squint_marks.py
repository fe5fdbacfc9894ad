"""Where the camera's light is reflected in each pupil, as marked; kept apart from what ``squint`` makes of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, TypeGuard

from dispensing.fitting.documents import EYES, Eye, FrontPhoto, Pixel

REFLECTION = "reflection"
"""The key under ``front.extra``: by eye, the place of the reflection in px."""


def reflections_of(front: FrontPhoto) -> dict[Eye, Pixel]:
    """Where the light is reflected, of the eyes of which it is marked."""
    told = kept_reflections(front.extra)
    return {eye: told[eye] for eye in EYES if eye in told}


def kept_reflections(extra: Any) -> dict[str, Pixel]:
    """What ``extra`` says of the reflections, as far as it can be a place on a photo."""
    told = extra.get(REFLECTION) if isinstance(extra, Mapping) else None
    if not isinstance(told, Mapping):
        return {}
    places = {eye: told.get(eye) for eye in EYES}
    return {eye: (float(at[0]), float(at[1])) for eye, at in places.items() if _is_place(at)}


def _is_place(at: Any) -> TypeGuard[Sequence[float]]:
    if not isinstance(at, list | tuple) or len(at) != 2:
        return False
    return all(isinstance(one, int | float) and not isinstance(one, bool) and math.isfinite(one) for one in at)
