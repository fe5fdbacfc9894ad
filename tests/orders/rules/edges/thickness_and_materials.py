"""Limits about thickness, materials and pairs."""

from __future__ import annotations

from dispensing.optics.magnification import MagnifyingLens, image_size_difference_percent
from dispensing.optics.surface import true_from_marked
from orders.rules.case import EyeCase
from tests.orders.rules.edges.edge import (
    ABOVE,
    BELOW,
    FROM,
    Changes,
    Edge,
    at_which,
    base_in,
    case_of,
    field,
    of_age,
    spheres,
)


def _balance(q: float) -> Changes:
    return {"prescription.right.sphere": -1.75 - q, "prescription.left.cylinder": None, "prescription.left.axis": None}


def _curves_by_table(q: float) -> Changes:
    """Mean spheres on both sides of −3, where the lab's table goes from a curve of 5 to one of 3."""
    return spheres((-2.9, -2.9 - q), (-2.9, -2.9 - q))


def _strong(sphere: float, material: str) -> Changes:
    return {"prescription.right.sphere": sphere, "lenses.right.material": material}


def _thick_edge(q: float) -> Changes:
    def edge_mm(minus: float) -> float:
        body = case_of(_strong(-minus, "m150")).right.figures.body_as_made
        assert body is not None
        return body.edge_max_mm

    return _strong(-at_which(edge_mm, q, 4.0, 12.0), "m150")


TURNED: Changes = {"fitting.face_form_deg": 18.0, "frame.front_curve_d": None}


def _thick_edge_in_a_wrap(q: float) -> Changes:
    def edge_mm(minus: float) -> float:
        body = case_of(_strong(-minus, "m150") | TURNED).right.figures.body_as_made
        assert body is not None
        return body.edge_max_mm

    return _strong(-at_which(edge_mm, q, 2.0, 12.0), "m150") | TURNED


def _thicker_than_need_be(q: float) -> Changes:
    """A lens in 1.50 whose thickest place would be so much thinner in the highest index on offer."""

    small = {"frame.a_mm": 46.0, "frame.ed_mm": 49.0}

    def saved_mm(minus: float) -> float:
        case = case_of(_strong(-minus, "m150") | small)
        highest = max(case.catalogue.materials, key=lambda one: one.index)
        bodies = case.right.figures.body_as_made, case.right.figures.body_in(highest)
        thick, thin = (max(body.edge_max_mm, body.centre_thickness_mm) for body in bodies if body is not None)
        return thick - thin

    return _strong(-at_which(saved_mm, q, 2.2, 8.0), "m150") | small


def _images_apart(q: float) -> Changes:
    """Powers less than the 3 D apart that the rule asks about, on curves that make the images differ."""

    def percent(apart: float) -> float:
        case = case_of(_plus(apart))
        right, left = (magnifying(eye) for eye in case.both)
        assert right is not None
        assert left is not None
        return abs(image_size_difference_percent(right, left))

    return _plus(at_which(percent, q, 0.5, 2.9))


def _plus(apart: float) -> Changes:
    powers = spheres((3.0, 3.0 - apart), (3.0, 3.0 - apart))
    return powers | {"lenses.right.base_curve_d": 9.0, "lenses.left.base_curve_d": 5.0}


def magnifying(eye: EyeCase) -> MagnifyingLens | None:
    body, curve, vertex = eye.figures.body_as_made, eye.figures.base_curve_d, eye.fitted.vertex_mm
    if body is None or curve is None or vertex is None or eye.material is None:
        return None
    front = true_from_marked(curve, eye.material.index)
    return MagnifyingLens(body.power.mean_sphere, front, body.centre_thickness_mm, eye.material.index, vertex)


def _traced(q: float) -> Changes:
    """A round shape of 50 mm in a frame said to be narrower."""
    shape = {"side": "right", "radii_mm": [25.0] * 72}
    return {"frame.shape": shape, "frame.b_mm": 50.0, "frame.a_mm": 50.0 - q, "frame.ed_mm": None}


EDGES: tuple[Edge, ...] = (
    Edge("shape-agrees", "difference_mm", 0.5, ABOVE, _traced, eye=None),
    Edge("edge-thick", "rimmed_mm", 8.0, ABOVE, _thick_edge),
    Edge("edge-thick", "wrapped_mm", 6.0, ABOVE, _thick_edge_in_a_wrap),
    Edge("index-for-power", "worth_mm", 1.0, FROM, _thicker_than_need_be),
    Edge("image-size", "difference_percent", 3.0, ABOVE, _images_apart, eye="both"),
    Edge(
        "impact-need",
        "below_years",
        18,
        BELOW,
        of_age,
        step=1,
    ),
    Edge(
        "low-abbe",
        "power_d",
        5.0,
        ABOVE,
        field("prescription.right.sphere", -1.0, 0.75),
        besides={"lenses.right.material": "m167"},
    ),
    Edge(
        "low-abbe",
        "prism_pd",
        3.0,
        ABOVE,
        lambda q: {"prescription.right.prism": base_in(q)},
        besides={"lenses.right.material": "m167"},
    ),
    Edge(
        "glass",
        "density_g_cm3",
        2.3,
        FROM,
        lambda q: {},
        "stop",
        besides={"lenses.right.material": "mineral", "frame.mount": "drilled"},
        catalogue=lambda q: {"materials.mineral.density_g_cm3": q},
    ),
    Edge(
        "glass",
        "below_years",
        16,
        BELOW,
        of_age,
        "stop",
        step=1,
        besides={"lenses.right.material": "mineral"},
    ),
    Edge(
        "balance-stated",
        "difference_d",
        1.0,
        ABOVE,
        _balance,
        besides={
            "lenses.right.instruction": "balance",
            "prescription.right.cylinder": None,
            "prescription.right.axis": None,
        },
    ),
    Edge("base-curve-match", "alike_within_d", 1.0, FROM, _curves_by_table, eye="both"),
    Edge(
        "curve-matches-frame",
        "steep_d",
        6.0,
        FROM,
        field("frame.front_curve_d"),
        besides={"lenses.right.base_curve_d": 3.0},
    ),
    Edge("curve-matches-frame", "turned_d", 6.0, BELOW, field("lenses.right.base_curve_d"), besides=TURNED),
    Edge(
        "curve-matches-frame",
        "apart_d",
        2.0,
        ABOVE,
        field("lenses.right.base_curve_d", -1.0, 7.0),
        besides={"frame.front_curve_d": 7.0},
    ),
    Edge(
        "curve-matches-frame",
        "wrap_apart_d",
        1.0,
        ABOVE,
        field("lenses.right.base_curve_d", 1.0, 8.0),
        besides={"frame.front_curve_d": 8.0},
    ),
    Edge(
        "wrap-base",
        "frame_curve_d",
        8.0,
        FROM,
        field("frame.front_curve_d"),
        "stop",
    ),
    Edge(
        "wrap-range",
        "most_d",
        3.0,
        ABOVE,
        field("prescription.right.sphere"),
        besides={"frame.front_curve_d": 8.0},
    ),
)
