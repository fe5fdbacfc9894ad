"""Each computed figure of a report, compared with one worked out afresh from the contract: see `reference`."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest

from tests.contract import reference
from tests.contract.documents import (
    ABSENT,
    EYES,
    Document,
    a_catalogue,
    an_order,
    changed,
    check_one,
    lopsided_radii,
    oval_radii,
)

FLAT = {"prescription.both.cylinder": None, "prescription.both.axis": None}


def some_orders(count: int) -> list[Document]:
    """Orders of every kind of lens, mount, material and traced side, with powers over the catalogue's range."""
    chance = random.Random(20261125)
    return [_some_order(chance, number) for number in range(count)]


def _some_order(chance: random.Random, number: int) -> Document:
    kind = chance.choice(["prog", "office", "sv", "d28", "t28"])
    size = chance.uniform(0.9, 1.1)
    radii = [radius * size for radius in lopsided_radii(chance.choice([36, 100, 400]))]
    order = changed(
        an_order(),
        {
            "number": str(number),
            "frame.shape": {"side": chance.choice(EYES), "radii_mm": radii},
            "frame.mount": chance.choice(["full_rim", "grooved", "drilled"]),
            "lenses.both.design": kind,
            "lenses.both.corridor_mm": None,
        },
    )
    for eye in EYES:
        cylinder = chance.choice([None, 0.0, -0.5, -2.0, 1.25])
        order["prescription"][eye] |= {"sphere": chance.randint(-24, 24) / 4, "cylinder": cylinder}
        order["prescription"][eye]["axis"] = chance.randint(1, 180) if cylinder else None
        order["fitting"][eye] |= {
            "pd_mm": chance.uniform(28, 36),
            "height_mm": None if kind == "sv" and chance.random() < 0.4 else chance.uniform(16, 25),
            "vertex_mm": chance.uniform(9, 16),
        }
        order["lenses"][eye]["material"] = chance.choice(["m150", "m160", "pc159"])
    return order


@pytest.mark.parametrize("order", some_orders(20), ids=lambda order: str(order["number"]))
def test_the_figures_are_those_of_the_contract(order: Document, tmp_path: Path) -> None:
    catalogue = a_catalogue()
    computed = check_one(tmp_path, order, catalogue)["computed"]

    for eye in EYES:
        near = reference.near_pd_mm(order, eye)
        expected = {
            "decentration_in_mm": reference.decentration_in_mm(order, eye),
            "centre_in_mm": reference.centre_in_mm(order, eye),
            "decentration_up_mm": reference.decentration_up_mm(order, catalogue, eye),
            "blank_needed_mm": reference.blank_needed_mm(order, catalogue, eye, reference.Blank(75, 0, 0)),
            "blank_by_formula_mm": reference.blank_by_formula_mm(order, eye),
            "near_pd_mm": near,
            "near_inset_mm": order["fitting"][eye]["pd_mm"] - near,
            "mean_sphere": reference.mean_sphere_d(order["prescription"][eye]),
            "base_curve_d": reference.base_curve_d(
                reference.design_of(order, catalogue, eye), order["prescription"][eye]
            ),
            "optical_centre_drop_mm": reference.optical_centre_drop_mm(order, eye),
        }
        assert {key: computed[eye][key] for key in expected} == pytest.approx(expected, abs=1e-9)
        body = reference.lens_body(order, catalogue, eye)
        thicknesses = ("centre_thickness_mm", "thinnest_mm", "edge_min_mm", "edge_max_mm")
        assert [computed[eye][key] for key in thicknesses] == pytest.approx(
            [getattr(body, key) for key in thicknesses], abs=0.02
        )
        assert computed[eye]["weight_g"] == pytest.approx(body.weight_g, rel=0.005)
    assert computed["vertical_imbalance_pd"] == pytest.approx(reference.vertical_imbalance_pd(order))
    assert computed["frame_pd_mm"] == 70.0
    assert computed["binocular_pd_mm"] == pytest.approx(sum(order["fitting"][eye]["pd_mm"] for eye in EYES))


@pytest.mark.parametrize("tilts", [(0, 0), (9, 0), (0, 8), (9, 5), (12, 10)])
@pytest.mark.parametrize("power", [(-3.25, None, None), (-6.0, -1.0, 170), (4.0, -2.0, 40)])
def test_the_power_felt_is_near_the_handbooks(
    power: tuple[float, Any, Any], tilts: tuple[float, float], tmp_path: Path
) -> None:
    """Martin's formula is for a sphere; with a cylinder and both tilts it is good to some hundredths of a dioptre."""
    sphere, cylinder, axis = power
    order = changed(
        an_order(),
        {
            "prescription.both": {"sphere": sphere, "cylinder": cylinder, "axis": axis, "add": 2.0},
            "prescription.vertex_mm": 12.0,
            "fitting.pantoscopic_deg": tilts[0],
            "fitting.face_form_deg": tilts[1],
        },
    )
    computed = check_one(tmp_path, order)["computed"]

    for eye in EYES:
        felt = reference.vector_of_power(computed[eye]["as_worn"])
        assert felt == pytest.approx(reference.as_worn(order, eye, 1.6), abs=0.06)


BLANKS = [
    {"diameter_mm": 70, "centre_in_mm": 2.0, "centre_up_mm": -1.5},
    {"diameter_mm": 60, "centre_in_mm": -4.0, "centre_up_mm": 3.0},
    {"diameter_mm": 62, "centre_in_mm": 0.0, "centre_up_mm": 0.0},
]


@pytest.mark.parametrize("traced", EYES)
@pytest.mark.parametrize(("ordered_mm", "in_use"), [(70, 0), (60, 1), (62, 2), (None, 1)])
def test_the_blank_is_judged_by_its_own_layout(
    ordered_mm: float | None, in_use: int, traced: str, tmp_path: Path
) -> None:
    order = changed(
        an_order(),
        {"lenses.both.blank_mm": ordered_mm, "frame.shape": {"side": traced, "radii_mm": lopsided_radii()}},
    )
    catalogue = changed(a_catalogue(), {"designs.0.blanks": BLANKS})
    report = check_one(tmp_path, order, catalogue)

    short = [f["eye"] for f in report["findings"] if f["rule"] == "blank-size"]
    for eye in EYES:
        blank = reference.Blank(**BLANKS[in_use])
        needed = reference.blank_needed_mm(order, catalogue, eye, blank)
        assert report["computed"][eye]["blank_needed_mm"] == pytest.approx(needed, abs=1e-9)
        assert (eye in short) == (round(needed, 2) > blank.diameter_mm)


@pytest.mark.parametrize(
    ("sphere", "curve_d"),
    [(-10.0, 2.0), (-4.0, 2.0), (-3.75, 5.0), (2.0, 5.0), (2.25, 7.0), (8.0, 7.0), (-11.0, 0.5), (9.0, 15.0)],
)
def test_on_a_shared_boundary_the_first_row_holds_and_beyond_all_rows_vogels_rule(
    sphere: float, curve_d: float, tmp_path: Path
) -> None:
    report = check_one(tmp_path, changed(an_order(), {**FLAT, "prescription.both.sphere": sphere}))

    assert report["computed"]["right"]["base_curve_d"] == pytest.approx(curve_d)


def test_36_and_400_radii_of_one_shape_need_much_the_same_blank(tmp_path: Path) -> None:
    needed = [
        check_one(tmp_path, changed(an_order(), {"frame.shape.radii_mm": oval_radii(count=count)}))["computed"]
        for count in (36, 400)
    ]

    assert needed[0]["right"]["blank_needed_mm"] == pytest.approx(needed[1]["right"]["blank_needed_mm"], abs=0.5)
    assert needed[0]["right"]["weight_g"] == pytest.approx(needed[1]["right"]["weight_g"], rel=0.01)


def test_left_is_the_mirror_of_right(tmp_path: Path) -> None:
    order = changed(an_order(), {"frame.shape": {"side": "right", "radii_mm": lopsided_radii()}})
    mirrored = changed(order, {"frame.shape.side": "left"})
    radii = order["frame"]["shape"]["radii_mm"]
    count = len(radii)
    mirrored["frame"]["shape"]["radii_mm"] = [radii[(count // 2 - i) % count] for i in range(count)]

    of_right, of_left = (check_one(tmp_path, traced)["computed"]["left"] for traced in (order, mirrored))

    assert of_left.pop("as_worn") == pytest.approx(of_right.pop("as_worn"))
    assert of_left.pop("power") == of_right.pop("power")
    assert of_left == pytest.approx(of_right)


def test_without_a_trace_the_shape_is_assumed_from_the_box(tmp_path: Path) -> None:
    report = check_one(tmp_path, changed(an_order(), {"frame.shape": None}))

    assert report["shape"] == "assumed"
    assert report["computed"]["right"]["blank_needed_mm"] == pytest.approx(64, abs=2)


@pytest.mark.parametrize(
    ("missing", "unknown"),
    [
        ("prescription.right.sphere", ["near_pd_mm", "centre_thickness_mm", "weight_g", "mean_sphere", "as_worn"]),
        ("prescription.right.axis", ["near_pd_mm", "edge_max_mm", "as_worn"]),
        (
            "fitting.right.pd_mm",
            ["decentration_in_mm", "centre_in_mm", "blank_needed_mm", "near_pd_mm", "near_inset_mm"],
        ),
        ("fitting.right.height_mm", ["decentration_up_mm", "blank_needed_mm", "edge_max_mm"]),
        ("fitting.near_distance_mm", ["near_pd_mm", "near_inset_mm"]),
        ("fitting.pantoscopic_deg", ["as_worn", "as_worn_model", "optical_centre_drop_mm"]),
        ("frame.a_mm", ["decentration_in_mm", "centre_in_mm", "blank_needed_mm", "blank_by_formula_mm"]),
    ],
)
def test_what_depends_on_a_missing_value_is_null(missing: str, unknown: list[str], tmp_path: Path) -> None:
    for nothing in (None, ABSENT):
        computed = check_one(tmp_path, changed(an_order(), {missing: nothing}))["computed"]["right"]
        assert [key for key in unknown if computed[key] is not None] == []


def test_a_single_eye_has_no_figures_for_the_lens_that_stays(tmp_path: Path) -> None:
    kept = {"material": "m160", "design": "prog", "base_curve_d": 5, "treatments": [], "centre_thickness_mm": 1.5}
    report = check_one(tmp_path, changed(an_order(), {"lenses.left": None, "kept_lens": kept}))

    assert report["computed"]["right"]["weight_g"] is not None
    assert set(report["computed"]["left"].values()) <= {None}
