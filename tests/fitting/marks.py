"""One well-marked pair of photos to start from, and ways to spoil it."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import numpy as np

from dispensing.fitting.command import plain
from dispensing.fitting.documents import Fitting, parse_points
from dispensing.fitting.measure import measure
from tests.fitting.simulate import Scene

Points = dict[str, Any]


def good_points(**scene: Any) -> Points:
    """Marks without error on a front and a side photo; ``scene`` changes what was rendered."""
    points = Scene(**{"mark_sd_px": 0.0, **scene}).marked(np.random.default_rng(0)) | {"spreads": {}}
    for photo in ("front", "side"):
        if points[photo] is not None:
            points[photo]["mark_sd_px"] = None  # marked without error, but the usual spread is still assumed
    return points


def spoilt(change: Callable[[Points], None], **scene: Any) -> Points:
    points = copy.deepcopy(good_points(**scene))
    change(points)
    return points


def measured(points: Points) -> Fitting:
    return measure(parse_points(json.dumps(points)))


def figures(points: Points) -> dict[str, Any]:
    return plain(measured(points))
