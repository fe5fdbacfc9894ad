"""Orders as documents, without a database, for the tests of drawings, exports and paper."""

from __future__ import annotations

import copy
import json
from typing import Any

from dispensing.optics.shape_families import assumed_shape
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import LensOrder, parse_order
from tests.orders.shop import CATALOGUE

LENS_NAMES = {
    "design_name": "Single vision",
    "design_kind": "single_vision",
    "material_name": "1.60",
    "index": 1.6,
    "treatment_names": ["Anti-reflection"],
}
ORDER: dict[str, Any] = {
    "format": "lens-order/1",
    "number": "D-00042",
    "revision": 1,
    "purpose": "new",
    "ordered_on": "2026-11-25",
    "needed_on": "2026-12-04",
    "practice": {
        "name": "Harbour Lane Opticians",
        "account": "4711",
        "country": "GB",
        "extra": {"address": "12 Harbour Lane\nSaltwick", "phone": "01632 960123", "cylinder_form": "minus"},
    },
    "lab": {"name": "Quay Street Lab"},
    "patient": {"reference": "P-00017", "born_on": "1968-04-02", "driver": True, "protected": False},
    "prescription": {
        "tested_on": "2026-10-30",
        "prescriber": "B. Prescriber",
        "vertex_mm": 12.0,
        "use": "distance",
        "right": {"sphere": -3.25, "cylinder": -1.0, "axis": 170, "add": 2.0, "prism": []},
        "left": {
            "sphere": -2.75,
            "cylinder": -0.5,
            "axis": 10,
            "add": 2.0,
            "prism": [{"amount": 1.0, "base": "in"}, {"amount": 0.5, "base": "down"}],
        },
    },
    "frame": {
        "model": "Alder 50",
        "mount": "full_rim",
        "source": "enclosed",
        "a_mm": 50.0,
        "b_mm": 40.0,
        "dbl_mm": 18.0,
        "ed_mm": 54.0,
    },
    "fitting": {
        "right": {"pd_mm": 31.0, "height_mm": 22.0, "vertex_mm": 13.0},
        "left": {"pd_mm": 32.5, "height_mm": 21.5, "vertex_mm": 13.0},
        "binocular_pd_mm": 63.5,
        "pantoscopic_deg": 9.0,
        "face_form_deg": 5.0,
        "near_distance_mm": 400,
    },
    "lenses": {
        "right": {"design": "sv", "material": "m160", "blank_mm": 65, "treatments": ["ar"], "extra": LENS_NAMES},
        "left": {"design": "sv", "material": "m160", "blank_mm": 65, "treatments": ["ar"], "extra": LENS_NAMES},
    },
    "supply": "fitted",
    "remarks": "",
}
CATALOGUE_DOCUMENT = parse_catalogue(json.dumps(CATALOGUE))


def order(**changes: Any) -> LensOrder:
    """ORDER with changes by path: ``order(fitting__right__pd_mm=30)``; None for a whole part takes it away."""
    facts = copy.deepcopy(ORDER)
    for path, value in changes.items():
        *parents, last = path.split("__")
        part = facts
        for name in parents:
            part = part[name]
        part[last] = value
    return parse_order(json.dumps(facts))


def traced(a_mm: float = 50.0, b_mm: float = 40.0, family: str = "pilot", count: int = 72) -> dict[str, Any]:
    """A shape as an order carries it, for the right lens."""
    radii = assumed_shape(a_mm, b_mm, family=family, count=count).radii
    return {"side": "right", "radii_mm": [round(float(radius), 4) for radius in radii]}


PROGRESSIVE = {"design": "prog", "material": "m160", "corridor_mm": 14, "blank_mm": 70, "treatments": ["ar"]}
