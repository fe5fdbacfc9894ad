"""Which drawings are kept, each of a case that draws other parts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from dispensing.optics.conventions import Eye
from dispensing.optics.power import SphereCylinder
from dispensing.optics.shape_families import assumed_shape
from dispensing.pictures.eyes_from_above import Depths, EyeFromAbove, Known, eyes_from_above
from dispensing.pictures.frame_front import Placed, frame_drawing
from orders.drawings import edge_drawing, order_drawing, shape_drawing, thickness_drawing
from orders.drawings.centres_found import CentreFound, centres_drawing
from orders.drawings.fronts import front_drawing
from orders.drawings.power_error import PowerError, power_error_drawing
from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, PROGRESSIVE, order, traced

FOLDER = Path(__file__).with_name("svg")
PILOT = assumed_shape(58.0, 48.0, None, "pilot")
SMALL_BLANK = {"design": "sv", "material": "m160", "blank_mm": 55, "treatments": []}

ORDERS: dict[str, dict[str, Any]] = {
    "single-vision": {},
    "progressive-traced": {
        "frame__shape": traced(),
        "lenses__right": PROGRESSIVE,
        "lenses__left": PROGRESSIVE,
    },
    "blank-too-small": {"lenses__right": SMALL_BLANK, "fitting__right__pd_mm": 24.0},
    "right-lens-only": {"lenses__left": None},
    "for-near": {
        "use": "near",
        "fitting__right__near_pd_mm": 29.0,
        "fitting__left__near_pd_mm": 30.5,
    },
    "nothing-measured": {"fitting": {}},
    "no-sizes": {"frame": {"model": "Alder"}},
}


def _of_order(changes: dict[str, Any]) -> dict[str, Callable[[], str]]:
    return {
        "order": lambda: order_drawing(order(**changes), CATALOGUE_DOCUMENT),
        "thickness": lambda: thickness_drawing(order(**changes), CATALOGUE_DOCUMENT),
        "edge": lambda: edge_drawing(order(**changes), CATALOGUE_DOCUMENT),
    }


PLACED: dict[Eye, Placed] = {"right": Placed(31.0, 27.0), "left": Placed(32.5, 26.0)}
SEEN: dict[Eye, EyeFromAbove] = {
    "right": EyeFromAbove(Known(31.0, 0.4), Known(29.0, 0.5), 52.0),
    "left": EyeFromAbove(Known(32.5, 0.4), None, None),
}
ORDERED = SphereCylinder(-3.25, -1.5, 20.0)
FOUND: dict[Eye, CentreFound] = {
    "right": CentreFound(in_mm=2.0, up_mm=-1.5, allowed_in_mm=1.0, allowed_up_mm=1.0),
    "left": CentreFound(in_mm=-0.5),
}


def _power_error(found: SphereCylinder, ordered: SphereCylinder, axis_deg: float | None) -> str:
    return power_error_drawing(PowerError(ordered, found, 0.12, axis_deg, 0.12, 0.06), "R")


PICTURES: dict[str, Callable[[], str]] = {
    **{f"{kind}-{name}": draw for name, changes in ORDERS.items() for kind, draw in _of_order(changes).items()},
    "shape-assumed": lambda: shape_drawing(a_mm=52.0, b_mm=38.0, ed_mm=55.0),
    "shape-traced-left": lambda: shape_drawing(a_mm=50.0, b_mm=40.0, radii_mm=traced()["radii_mm"], side="left"),
    "frame-pilot": lambda: frame_drawing(PILOT, 16.0, placed=PLACED, sizes=(58.0, 48.0, 62.0)),
    "frame-assumed": lambda: frame_drawing(PILOT, None, assumed=True, headings=("OD", "OS"), scale=0.5),
    "front-traced": lambda: front_drawing(order(frame__shape=traced()), wide_mm=130.0, high_mm=50.0),
    "front-nothing-measured": lambda: front_drawing(order(fitting={}), wide_mm=130.0, high_mm=50.0),
    "power-error": lambda: _power_error(SphereCylinder(-3.12, -1.5, 26.0), ORDERED, 4.0),
    "power-error-of-a-sphere": lambda: _power_error(SphereCylinder(-2.0, -0.25, 90.0), SphereCylinder(-2.0), None),
    "centres-found": lambda: centres_drawing(order(**ORDERS["progressive-traced"]), CATALOGUE_DOCUMENT, FOUND),
    "eyes-from-above": lambda: eyes_from_above(SEEN, Depths(Known(13.0, 1.0), 18.0, 7.0)),
    "eyes-from-above-little-known": lambda: eyes_from_above({"right": EyeFromAbove()}, Depths(), headings=("OD", "OS")),
}
