"""An order with nothing wrong in it, its catalogue, and ways to change them: plain JSON values, as in a file.

This must never import the program: the tests feed it what an outsider would write by hand.
"""

from __future__ import annotations

import copy
import io
import json
import math
from pathlib import Path
from typing import Any, NamedTuple

from orders.rules.check_files import run

Document = dict[str, Any]
EYES = ("right", "left")


def oval_radii(a_mm: float = 52.0, b_mm: float = 38.0, count: int = 400, power: float = 2.6) -> list[float]:
    """A rounded shape that fills its box: |x/a|^p + |y/b|^p = 1."""
    angles = (2 * math.pi * i / count for i in range(count))
    return [
        (abs(math.cos(t) / (a_mm / 2)) ** power + abs(math.sin(t) / (b_mm / 2)) ** power) ** (-1 / power)
        for t in angles
    ]


def lopsided_radii(count: int = 400) -> list[float]:
    """Like `oval_radii`, fuller towards 40° and 215°, so that mirror and true shape differ everywhere."""
    bumps = (1 + 0.05 * math.cos(math.radians(360 * i / count - 40)) ** 7 for i in range(count))
    return [radius * bump for radius, bump in zip(oval_radii(count=count), bumps, strict=True)]


def an_order() -> Document:
    """Progressive, −3.25 −1.00 × 170 and −2.75 −0.50 × 10, in a 52□18 frame."""
    eye = {"sphere": -3.25, "cylinder": -1.0, "axis": 170, "add": 2.0, "prism": []}
    lens = {
        "design": "prog",
        "material": "m160",
        "corridor_mm": 11,
        "blank_mm": 75,
        "treatments": ["hard", "ar"],
        "base_curve_d": None,
    }
    return {
        "format": "lens-order/1",
        "number": "C-1",
        "revision": 1,
        "purpose": "new",
        "remake_of": None,
        "ordered_on": "2026-11-25",
        "needed_on": "2026-12-24",
        "practice": {"name": "High Street", "account": "4711", "country": "GB"},
        "lab": {"name": "North Lab"},
        "patient": {"reference": "P-1", "born_on": "1972-04-02", "driver": False, "protected": False},
        "prescription": {
            "tested_on": "2026-10-30",
            "expires_on": "2028-10-30",
            "prescriber": "T. Prescriber",
            "source": "written",
            "vertex_mm": 13.0,
            "use": "distance_and_near",
            "right": eye,
            "left": {**eye, "sphere": -2.75, "cylinder": -0.5, "axis": 10},
        },
        "previous_prescription": None,
        "frame": {
            "model": "Test 52",
            "mount": "full_rim",
            "source": "lab_supplies",
            "a_mm": 52.0,
            "b_mm": 38.0,
            "dbl_mm": 18.0,
            "ed_mm": 55.6,
            "front_curve_d": 5.0,
            "shape": {"side": "right", "radii_mm": oval_radii()},
        },
        "fitting": {
            "right": {"pd_mm": 31.8, "near_pd_mm": None, "height_mm": 21.6, "vertex_mm": 13.0},
            "left": {"pd_mm": 32.2, "near_pd_mm": None, "height_mm": 21.9, "vertex_mm": 13.0},
            "binocular_pd_mm": 64.0,
            "pantoscopic_deg": 9.0,
            "face_form_deg": 5.0,
            "near_distance_mm": 400,
            "readings": 2,
            "measured_in_this_frame": True,
            "pre_adjusted": True,
        },
        "lenses": {"right": lens, "left": copy.deepcopy(lens)},
        "supply": "fitted",
        "remarks": "",
    }


def a_catalogue() -> Document:
    """One design of each kind, in three materials."""
    common: Document = {
        "materials": ["m150", "m160", "pc159"],
        "sphere": [-10.0, 8.0],
        "cylinder_max": 6.0,
        "prism_max": 4.0,
        "blanks": [
            {"diameter_mm": 65, "centre_in_mm": 0.0, "centre_up_mm": 0.0},
            {"diameter_mm": 75, "centre_in_mm": 0.0, "centre_up_mm": 0.0},
        ],
        "base_curves": [
            {"from_d": -10.0, "to_d": -4.0, "curve_d": 2.0},
            {"from_d": -4.0, "to_d": 2.0, "curve_d": 5.0},
            {"from_d": 2.0, "to_d": 8.0, "curve_d": 7.0},
        ],
        "needs": [],
        "compensated": False,
    }
    multifocal: Document = {**common, "add": [0.75, 3.5]}
    corridors = [{"length_mm": 14, "min_height_mm": 18}, {"length_mm": 11, "min_height_mm": 15}]
    zones: Document = {"clearance_above_mm": 10, "near_inset_mm": 2.0, "near_zone_radius_mm": 3.0}
    return {
        "format": "lens-catalogue/1",
        "lab": "North Lab",
        "issued_on": "2026-11-01",
        "materials": [
            _material("m150", 1.5, 58, 1.32, 1.8, drillable=False),
            _material("m160", 1.6, 41, 1.30, 1.5, drillable=True),
            {**_material("pc159", 1.59, 30, 1.20, 1.2, drillable=True), "impact_resistant": True},
        ],
        "designs": [
            {
                **multifocal,
                **zones,
                "id": "prog",
                "name": "P",
                "kind": "progressive",
                "corridors": corridors,
                "cross_above_prism_point_mm": 4.0,
                "needs": ["vertex", "pantoscopic", "face_form"],
                "compensated": True,
            },
            {**multifocal, **zones, "id": "office", "name": "O", "kind": "office", "corridors": corridors},
            {**common, "id": "sv", "name": "S", "kind": "single_vision"},
            {
                **multifocal,
                "id": "d28",
                "name": "D",
                "kind": "bifocal",
                "segment": {"shape": "d", "width_mm": 28, "depth_mm": 19, "inset_mm": 2.0},
            },
            {
                **multifocal,
                "id": "t28",
                "name": "T",
                "kind": "trifocal",
                "segment": {"shape": "d", "width_mm": 28, "depth_mm": 19, "inset_mm": 2.0, "below_centre_mm": 3.0},
            },
        ],
        "treatments": [
            _treatment("hard", "hard"),
            _treatment("ar", "antireflection"),
            {**_treatment("sun", "tint"), "luminous_transmittance": 0.15},
            {**_treatment("dark", "tint"), "luminous_transmittance": 0.05},
            {**_treatment("mirror", "mirror"), "excludes": ["ar"]},
            {**_treatment("photo", "photochromic"), "materials": ["m160"]},
            _treatment("pol", "polarised"),
        ],
    }


def _material(name: str, index: float, abbe: float, density: float, centre: float, *, drillable: bool) -> Document:
    return {
        "id": name,
        "name": name,
        "index": index,
        "abbe": abbe,
        "density_g_cm3": density,
        "min_centre_mm": centre,
        "min_edge_mm": {"full_rim": 1.0, "grooved": 1.6, "drilled": 2.0},
        "drillable": drillable,
        "impact_resistant": False,
    }


def _treatment(name: str, kind: str) -> Document:
    materials = ["m150", "m160", "pc159"]
    return {
        "id": name,
        "name": name,
        "kind": kind,
        "materials": materials,
        "excludes": [],
        "luminous_transmittance": None,
    }


ABSENT = ...
"""Put as a value, it takes the key away."""


def put(document: Document, path: str, value: Any) -> None:
    """Set ``prescription.right.add`` and the like; ``both`` in the path means the right and the left eye."""
    if ".both." in path or path.endswith(".both"):
        for eye in EYES:
            put(document, path.replace("both", eye, 1), copy.deepcopy(value))
        return
    *parents, key = path.split(".")
    at: Any = document
    for name in parents:
        at = at[int(name)] if isinstance(at, list) else at[name]
    if value is ABSENT:
        at.pop(int(key) if isinstance(at, list) else key, None)
    else:
        at[int(key) if isinstance(at, list) else key] = copy.deepcopy(value)


def changed(document: Document, changes: dict[str, Any]) -> Document:
    """A copy with each path set."""
    # Through JSON, as a file: no part of the copy is shared with another part.
    copied = json.loads(json.dumps(document))
    for path, value in changes.items():
        put(copied, path, value)
    return dict(copied)


class Run(NamedTuple):
    """One call of ``check_order``."""

    code: int
    reports: list[Document]
    faults: list[str]


def check_files(folder: Path, *orders: Document | str | bytes, catalogue: Document | str | bytes | None = None) -> Run:
    """Write the documents as files and check them in one call."""
    catalogue_path = _written(folder / "catalogue.json", a_catalogue() if catalogue is None else catalogue)
    paths = [_written(folder / f"order{i}.json", order) for i, order in enumerate(orders)]
    out, err = io.StringIO(), io.StringIO()
    code = run(paths, catalogue_path, out, err)
    return Run(code, [json.loads(text) for text in out.getvalue().splitlines()], err.getvalue().splitlines())


def check_one(folder: Path, order: Document, catalogue: Document | None = None) -> Document:
    """The report of a valid order."""
    result = check_files(folder, order, catalogue=catalogue)
    assert result.faults == []
    return result.reports[0]


def _written(path: Path, content: Document | str | bytes) -> Path:
    if isinstance(content, bytes):
        path.write_bytes(content)
    else:
        path.write_text(content if isinstance(content, str) else json.dumps(content), encoding="utf-8")
    return path
