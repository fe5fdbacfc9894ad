"""Topics 1, 6, 7 and 12 of the published cases: blanks, thickness and weight, surfaces and base curves, frames."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from dispensing.optics.base_curve import BaseCurve, base_curve, vogel
from dispensing.optics.blank import blank_by_formula_mm, blank_needed_mm
from dispensing.optics.boxing import LensShape
from dispensing.optics.centration import decentration_in, decentration_up
from dispensing.optics.conventions import TOOLING_INDEX
from dispensing.optics.lens_body import LensBody, lens_body
from dispensing.optics.power import SphereCylinder
from dispensing.optics.surface import ToricBack, forwarded, sag, toric_back, true_from_marked
from orders.rules import check
from orders.rules.examples import Example
from tests.known import there
from tests.optics.handbook import back_vertex_power_approximate, sag_approximate
from tests.published.rows import PublishedCase, assert_reproduces, by_id, published, worked

FINE = 14_400  # radii
FULL_WIDTH = ("HB-039", "HB-040")


def ellipse(a_mm: float, b_mm: float, count: int = FINE) -> LensShape:
    angles = np.arange(count) * (2.0 * np.pi / count)
    return LensShape(1.0 / np.hypot(np.cos(angles) / (a_mm / 2.0), np.sin(angles) / (b_mm / 2.0)), "right")


def rectangle(a_mm: float, b_mm: float) -> LensShape:
    """With so many radii that one of them meets a corner as nearly as can be."""
    corner = np.arctan2(b_mm, a_mm) / (2.0 * np.pi)
    count = min(range(FINE, FINE + 4000, 4), key=lambda radii: abs(corner * radii - round(corner * radii)))
    angles = np.arange(count) * (2.0 * np.pi / count)
    with np.errstate(divide="ignore"):
        sides = np.abs(a_mm / 2.0 / np.cos(angles)), np.abs(b_mm / 2.0 / np.sin(angles))
    return LensShape(np.minimum(*sides), "right")


def radius_of(power_d: float, index: float) -> float:
    """Radius in mm of a surface of this power in D, sign as the power."""
    return -1.0 / ToricBack(power_d, power_d, 180.0, index, True).curvatures[0]


def sag_of(radius_mm: float, semi_aperture_mm: float) -> float:
    return float(sag(1.0 / radius_mm, semi_aperture_mm**2))


def thin_back(power: SphereCylinder, front_d: float) -> ToricBack:
    """The back of a lens without thickness; no index changes it."""
    return toric_back(power, front_d, 0.0, 1.5)


def per_lens_decentration(given: Mapping[str, Any]) -> float:
    """Decentration in of one lens, mm, from whichever of the box, both PDs or a total the row gives."""
    if "decentration_per_lens" in given:
        return float(given["decentration_per_lens"])
    if "total_decentration" in given:
        return float(given["total_decentration"]) / 2.0
    a, dbl = given.get("A", given.get("frame_pd")), given.get("DBL", 0.0)
    return decentration_in(a + dbl, given["PD"] / 2.0)


def blanks(given: dict[str, Any]) -> dict[str, Any]:
    if given.get("shape") == "rectangle":
        dec_in, dec_up = given["dec_in"], given["dec_up"]
        return {
            "formula_mbs": blank_by_formula_mm(np.hypot(given["A"], given["B"]), dec_in, dec_up, 0.0),
            "exact_mbs": blank_needed_mm(rectangle(given["A"], given["B"]), (dec_in, dec_up), allowance_mm=0.0),
        }
    if "seg_height" in given:
        return {"vertical_dec_mm": decentration_up(given["seg_height"], given["B"])}
    if "mono_L" in given:
        a, dbl = given["A"] if "A" in given else given["frame_pd"], given.get("DBL", 0.0)
        monos = {eye: given.get(f"mono_{eye}") for eye in "RL"}
        return {f"dec_{eye}": decentration_in(a + dbl, pd) for eye, pd in monos.items() if pd}
    decentration = per_lens_decentration(given)
    if "ED" not in given:
        return {"decentration_each_mm": decentration}
    by_allowance = {f"mbs{mm}": blank_by_formula_mm(given["ED"], decentration, allowance_mm=mm) for mm in (0, 1, 2)}
    return by_allowance | {"mbs_mm": by_allowance[f"mbs{given.get('allowance', 0)}"]}


def round_body(given: Mapping[str, Any], power: float, front_d: float, **limits: Any) -> LensBody:
    """A round uncut lens of the row's diameter with its optical centre in the middle."""
    return lens_body(
        ellipse(given["diameter"], given["diameter"], 3600),
        SphereCylinder(power),
        index=given["n"],
        density_g_cm3=given.get("density", 1.3),
        front_curve_d=true_from_marked(front_d, TOOLING_INDEX, given["n"]),
        **({"min_centre_mm": 0.1, "min_edge_mm": 0.0} | limits),
    )


def thickness(given: dict[str, Any]) -> dict[str, Any]:
    if "formula" in given:
        drawn = [(50.0, -4.0, 1.5), (65.0, 6.0, 1.67), (71.5, 2.25, 1.56)]
        forms = [(d * d * f / (8000.0 * (n - 1.0)), sag_approximate(f, n, d / 2.0)) for d, f, n in drawn]
        return {"equal": all(one == pytest.approx(other, rel=1e-12) for one, other in forms)}
    if "c1" in given:
        c1, c2, y = given["c1"], given["c2"], given["semi_aperture"]
        edge = given["centre"] - sag_of(1.0 / c1, y) + sag_of(1.0 / c2, y)
        return {"edge": edge, "shape_factor": (c1 + c2) / (c1 - c2)}
    if "thin_lens" in given or isinstance(given.get("F"), list):
        return weights_of_plus_and_minus(given)
    if "F" not in given:
        return {"cvf": true_from_marked(1.0, 1.523, given["n"])}
    if "F1" in given:
        return bodies_with_a_front(given)
    diameter = given["diameter"] if "diameter" in given else given["diameter_implied"]
    centre = given.get("centre", given.get("centre_implied", 0.0))
    approximate = sag_approximate(given["F"], given["n"], diameter / 2.0)
    radius = radius_of(given["F"], given["n"])
    return {
        "radius": radius,
        "sag_exact": sag_of(radius, diameter / 2.0),
        "sag_approx": approximate,
        "edge": centre - approximate,
        "edge_mm": centre - approximate,
    }


def bodies_with_a_front(given: Mapping[str, Any]) -> dict[str, Any]:
    approximate = sag_approximate(given["F"], given["n"], given["diameter"] / 2.0)
    if "centre" in given:
        body = round_body(given, given["F"], given["F1"], centre_thickness_mm=given["centre"])
        found = {"edge_exact": body.edge_max_mm, "edge": body.edge_max_mm, "edge_approx": given["centre"] - approximate}
    else:
        body = round_body(given, given["F"], given["F1"], min_edge_mm=given["edge"])
        found = {"centre_exact": body.centre_thickness_mm, "centre_approx": given["edge"] + approximate}
    return found | {"volume_cm3": body.volume_mm3 / 1000.0, "mass_g": body.weight_g}


def weights_of_plus_and_minus(given: Mapping[str, Any]) -> dict[str, Any]:
    """Plus and minus of equal power and equal least thickness; the row without figures takes those of WT-01."""
    lens = {"diameter": 60, "n": 1.498, "density": 1.32, "edge_plus": 2.0, "centre_minus": 2.0, **given}
    plus = round_body(lens, 4.0, vogel(4.0), min_edge_mm=lens["edge_plus"])
    minus = round_body(lens, -4.0, vogel(-4.0), min_centre_mm=lens["centre_minus"])
    return {"plus_g": plus.weight_g, "minus_g": minus.weight_g, "ratio": plus.weight_g / minus.weight_g}


def surfaces(given: dict[str, Any]) -> dict[str, Any]:
    if "SE" in given:
        return {"base": vogel(given["SE"])}
    if "clock" in given or "tool_curve" in given:
        return marked_curves(given)
    if "rx" in given:
        sphere, cylinder, axis = given["rx"].replace("x", "").split()
        power = SphereCylinder(float(sphere), float(cylinder), float(axis))
        written = power.in_minus_cylinder()
        front = written.sphere - given["base"]
        back = thin_back(written, front)
        across = 90.0 if written.axis == 180.0 else written.axis - 90.0
        return {
            "sphere": front,
            "base_cyl": f"{back.along_d:.2f} x{across:03.0f}",
            "cross_cyl": f"{back.across_d:.2f} x{written.axis:03.0f}",
        }
    if "r_mm" in given:
        return {"F": radius_of(1.0, given["n"]) / given["r_mm"]}
    if "F1" not in given:
        return {"r_mm": radius_of(given["F"], given["n"])}
    if isinstance(given.get("F2"), list):
        first, second = (given["F1"] + back for back in given["F2"])
        low, high = min(first, second), max(first, second)
        return {"rx": f"{high:+.2f} {low - high:+.2f}"}
    if "F" in given:
        return {"F2": thin_back(SphereCylinder(given["F"]), given["F1"]).along_d}
    front, behind, thick, index = given["F1"], given["F2"], given["t_mm"], given["n"]
    back_vertex = forwarded(front, thick, index) + behind
    return {
        "nominal": front + behind,
        "front": front + forwarded(behind, thick, index),
        "back": back_vertex,
        "back_exact": back_vertex,
        "back_approx": back_vertex_power_approximate(front, behind, thick, index),
    }


def marked_curves(given: Mapping[str, Any]) -> dict[str, Any]:
    marked_index = given.get("clock_index", given.get("tool_index"))
    curve = given.get("clock", given.get("tool_curve"))
    if isinstance(curve, list):
        return {"power": sum(true_from_marked(side, given["n"], marked_index) for side in curve)}
    return {"true": true_from_marked(curve, given["n"], marked_index)}


def frames(given: dict[str, Any]) -> dict[str, Any]:
    if "B" in given:
        oval, box = ellipse(given["A"], given["B"]), rectangle(given["A"], given["B"])
        return {
            "ED_min_ellipse": oval.ed_mm,
            "ED_max_rectangle": box.ed_mm,
            "circ_ellipse": oval.circumference_mm,
            "circ_rectangle": box.circumference_mm,
        }
    if "frame_pd" in given:
        return {"DBL": given["frame_pd"] - given["A"]}
    # The decentration of a PD of nothing is the distance from the middle of the bridge to the boxed centre.
    half = decentration_in(given["A"] + given["DBL"], 0.0)
    return {"frame_pd": 2.0 * half, "half": half}


@published(worked(1))
def test_a_blank_size_comes_out_as_published(case: PublishedCase) -> None:
    assert_reproduces(case, blanks(case.inputs))


@published([case for case in worked(6) if case.id not in FULL_WIDTH])
def test_a_thickness_or_weight_comes_out_as_published(case: PublishedCase) -> None:
    assert_reproduces(case, thickness(case.inputs))


@published([case for case in worked(7) if case.id != "HB-033"])
def test_a_surface_or_base_curve_comes_out_as_published(case: PublishedCase) -> None:
    assert_reproduces(case, surfaces(case.inputs))


@published(worked(12))
def test_the_boxing_of_a_frame_comes_out_as_published(case: PublishedCase) -> None:
    assert_reproduces(case, frames(case.inputs))


@published(by_id("HB-033"))
def test_another_handbooks_rule_is_two_dioptres_flatter_so_a_curve_says_by_which_it_is(case: PublishedCase) -> None:
    mean = SphereCylinder(case.inputs["S"], case.inputs["C"], case.inputs["axis"]).mean_sphere
    assert base_curve(mean) == BaseCurve(case.expected["base_curve"] + 2.0, "vogel")


@published(by_id("HB-038"))
@pytest.mark.parametrize("power", [6.0, 2.0, -1.0, -8.0])
def test_edge_and_front_sag_make_as_much_as_centre_and_back_sag(case: PublishedCase, power: float) -> None:
    assert (case.expected["edge_plus_front_sag"]) == "centre_plus_back_sag"
    body = round_body({"diameter": 60.0, "n": 1.6}, power, 7.0, min_centre_mm=1.5, min_edge_mm=1.0)
    back_radius = radius_of(power - forwarded(7.0, body.centre_thickness_mm, 1.6), 1.6)
    front_sag, back_sag = sag_of(1.0 / body.front_curvature, 30.0), sag_of(abs(back_radius), 30.0)
    assert body.edge_mm + front_sag == pytest.approx(body.centre_thickness_mm + back_sag, abs=1e-9)


@published(by_id(*FULL_WIDTH))
def test_a_full_width_segment_makes_the_lens_as_thick_as_its_reading_power(case: PublishedCase) -> None:
    given, as_for = case.inputs, case.expected["centre_thickness_as_for"]
    whole = centre_of("bifocal", given["distance"], given["add"], segment="e-line")
    assert whole == pytest.approx(centre_of("single", as_for, None), abs=1e-6)
    narrow = centre_of("bifocal", given["distance"], given["add"], segment="d")
    assert narrow == pytest.approx(centre_of("single", given["distance"], None), abs=1e-6)


def centre_of(design: str, sphere: float, add: float | None, segment: str | None = None) -> float:
    """Centre thickness, mm, of an order's right lens on a curve of 6 D, its optical centre at half of B."""
    changes = {
        "fitting": {"right": {"height_mm": 18.0}},
        "prescription": {"right": {"sphere": sphere, "cylinder": 0.0, "axis": None, "add": add}},
        "lenses": {"right": {"design": design, "base_curve_d": 6.0, "corridor_mm": None}},
    }
    shape = {"designs": {design: {"segment": {"shape": segment}}}} if segment else {}
    example = Example("edge-thick", "trips", "a published lens", set=changes, catalogue=shape)
    found = check(example.order(), example.lens_catalogue()).computed.right
    return there(there(found).centre_thickness_mm)
