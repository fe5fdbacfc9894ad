"""The figures of the report, compared with sums done by hand with the formulas of the trade."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest

from orders.documents.lens_order import LensOrder, parse_order
from orders.documents.order_report import Computed
from orders.rules import check
from orders.rules.examples import clean_order, example_catalogue


def computed(**changes: Any) -> Computed:
    return check(order_with(**changes), example_catalogue()).computed


def order_with(**changes: Any) -> LensOrder:
    """The clean order with values at paths written ``fitting__right__pd_mm``."""
    document = json.loads(clean_order().model_dump_json(exclude_unset=True))
    for path, value in changes.items():
        *parents, last = path.split("__")
        target = document
        for step in parents:
            target = target[step]
        target[last] = value
    return parse_order(json.dumps(document))


def test_decentration_is_half_the_frame_pd_less_the_pd_and_the_height_above_the_middle() -> None:
    figures = computed()

    assert figures.frame_pd_mm == 68.0
    assert figures.right.decentration_in_mm == 34.0 - 31.5
    assert figures.right.decentration_up_mm == 20.5 - 18.0
    assert figures.left.decentration_in_mm == 34.0 - 32.0


def test_a_single_vision_lens_without_a_height_sits_at_the_middle() -> None:
    changes = {"lenses__right__design": "single", "fitting__right__height_mm": None}

    assert computed(**changes).right.decentration_up_mm == 0.0
    assert computed(fitting__right__height_mm=None).right.decentration_up_mm is None


def test_the_formula_blank_is_ed_and_twice_the_decentration_and_two() -> None:
    assert computed().right.blank_by_formula_mm == 53.0 + 2 * 2.5 + 2


def test_the_blank_of_a_round_lens_is_known_without_a_computer() -> None:
    # A circle of 25 mm radius: the farthest point is the radius and the offset of the blank's middle away.
    radii = [25.0] * 3600
    figures = computed(
        frame__a_mm=50.0,
        frame__b_mm=50.0,
        frame__ed_mm=50.0,
        frame__shape={"side": "right", "radii_mm": radii},
        fitting__right__height_mm=32.0,
        fitting__face_form_deg=0.0,
        lenses__right__design="progressive",
    )
    # 2.5 mm in; the cross 7 mm up, the prism reference point 4 mm below it.
    offset = math.hypot(2.5, 7.0 - 4.0)
    assert figures.right.blank_needed_mm == pytest.approx(2 * (25.0 + offset + 1.0), abs=0.001)


def test_on_a_turned_lens_the_centre_lies_farther_from_the_nose_than_in_the_plane_of_the_face() -> None:
    wrap = {"frame__a_mm": 62.0, "frame__dbl_mm": 16.0, "frame__ed_mm": 64.0, "fitting__right__pd_mm": 32.0}
    turned, flat = (computed(**wrap, fitting__face_form_deg=angle).right for angle in (25.0, 0.0))

    assert (turned.decentration_in_mm, flat.decentration_in_mm) == (7.0, 7.0)
    assert turned.centre_in_mm == pytest.approx(31.0 - 24.0 / math.cos(math.radians(25.0)) + 0.0, abs=1e-9)
    assert turned.centre_in_mm == pytest.approx(4.5, abs=0.05)
    assert flat.centre_in_mm == pytest.approx(7.0)
    assert turned.blank_needed_mm == pytest.approx((flat.blank_needed_mm or 0.0) - 2 * 2.48, abs=0.5)
    assert turned.blank_by_formula_mm == flat.blank_by_formula_mm == 64.0 + 14.0 + 2.0
    assert (turned.edge_max_mm or 0.0) < (flat.edge_max_mm or 0.0) - 0.3


@pytest.mark.parametrize("unknown", [None, 60.0])
def test_a_face_form_that_is_not_known_or_cannot_be_turns_no_lens(unknown: float | None) -> None:
    assert computed(fitting__face_form_deg=unknown).right.centre_in_mm == pytest.approx(2.5)
    assert computed(fitting__face_form_deg=45.0).right.centre_in_mm == pytest.approx(
        25.0 + (9.0 - 31.5) / math.cos(math.radians(45.0))
    )


def test_what_a_lens_does_as_worn_is_worked_out_with_its_body_where_that_is_known() -> None:
    thick, thin = computed(fitting__face_form_deg=20.0), computed(fitting__face_form_deg=20.0, frame__a_mm=None)

    assert (thick.right.as_worn_model, thin.right.as_worn_model) == ("thick", "thin")
    assert thick.right.as_worn is not None
    assert thin.right.as_worn is not None
    assert abs(thick.right.as_worn.sphere - thin.right.as_worn.sphere) > 0.005
    assert computed(fitting__face_form_deg=None).right.as_worn_model is None


def test_the_near_pd_follows_the_convergence_of_the_eyes_through_the_lens() -> None:
    along_180 = -2.25 - 0.75 * math.sin(math.radians(170)) ** 2
    inset = 31.5 / (1 + 400 * (1 / 26.5 - along_180 / 1000))

    figures = computed().right
    assert figures.near_inset_mm == pytest.approx(inset, abs=1e-9)
    assert figures.near_pd_mm == pytest.approx(31.5 - inset, abs=1e-9)


@pytest.mark.parametrize(("sphere", "near"), [(0.0, 59.0), (-6.0, 59.5), (6.0, 58.3)])
def test_the_near_pd_of_63_at_40_cm_is_that_of_the_trade(sphere: float, near: float) -> None:
    figures = computed(
        prescription__right={"sphere": sphere},
        fitting__right__pd_mm=63.0,
        fitting__right__vertex_mm=None,
    )
    assert figures.right.near_pd_mm == pytest.approx(near, abs=0.06)


def test_vertical_imbalance_is_the_difference_of_the_powers_along_90_over_one_centimetre() -> None:
    right = -2.25 - 0.75 * math.sin(math.radians(80)) ** 2
    left = -1.75 - 0.50 * math.sin(math.radians(75)) ** 2

    assert computed().vertical_imbalance_pd == pytest.approx(abs(right - left), abs=1e-9)


def test_the_optical_centre_drops_by_the_sine_of_the_tilt() -> None:
    assert computed().right.optical_centre_drop_mm == pytest.approx(26.5 * math.sin(math.radians(9.0)), abs=1e-9)


def test_the_base_curve_is_the_ordered_one_else_the_tables_else_vogels() -> None:
    ordered, listed = computed(lenses__right__base_curve_d=4.0), computed()
    beyond_the_table = computed(prescription__right__sphere=9.0, prescription__right__cylinder=None)
    chosen = [(found.right.base_curve_d, found.right.base_curve_by) for found in (ordered, listed, beyond_the_table)]
    assert chosen == [(4.0, "order"), (5.0, "catalogue"), (15.0, "vogel")]
    assert beyond_the_table.left.base_curve_by == "catalogue"


def test_a_lens_worn_straight_at_the_tested_distance_is_felt_as_ordered() -> None:
    worn = computed(
        fitting__pantoscopic_deg=0.0, fitting__face_form_deg=0.0, fitting__right__vertex_mm=12.0
    ).right.as_worn

    assert worn is not None
    assert (worn.sphere, worn.cylinder, worn.axis) == pytest.approx((-2.25, -0.75, 170.0), abs=1e-6)


def test_what_depends_on_a_missing_figure_is_null() -> None:
    without_pd = computed(fitting__right__pd_mm=None).right
    assert without_pd.decentration_in_mm is None
    assert without_pd.blank_needed_mm is None
    assert without_pd.blank_by_formula_mm is None
    assert without_pd.near_pd_mm is None
    assert without_pd.mean_sphere == -2.625

    without_sphere = computed(prescription__right__sphere=None)
    assert without_sphere.right.mean_sphere is None
    assert without_sphere.right.base_curve_d is None
    assert without_sphere.vertical_imbalance_pd is None

    assert computed(fitting__pantoscopic_deg=None).right.as_worn is None
    assert computed(fitting__near_distance_mm=None).right.near_pd_mm is None


def test_the_report_says_where_the_shape_comes_from() -> None:
    radii = [25.0] * 36
    assert check(order_with(), example_catalogue()).shape == "assumed"
    given = order_with(frame__shape={"side": "left", "radii_mm": radii})
    assert check(given, example_catalogue()).shape == "given"
    none = order_with(frame__a_mm=None)
    assert check(none, example_catalogue()).shape is None


def test_a_prescribed_prism_is_part_of_the_lens() -> None:
    without = computed().right
    base_out = computed(prescription__right__prism=[{"amount": 3.0, "base": "out"}]).right

    # A lens decentred in is thickest at the temple, and base out makes it thicker there: 3 Δ of index 1.6 slope by
    # 3/100/0.6, half a millimetre in ten; and all of it is thicker, since nasally of the centre it would be too thin.
    temporal_mm = 25.0 + 2.5
    grown = (base_out.edge_max_mm or 0.0) - (without.edge_max_mm or 0.0)
    thicker = (base_out.centre_thickness_mm or 0.0) - (without.centre_thickness_mm or 0.0)
    assert thicker > 0.2
    assert grown == pytest.approx(temporal_mm * 0.03 / 0.6 + thicker, abs=0.15)
    assert without.thinnest_mm == without.centre_thickness_mm == 1.5
    assert base_out.thinnest_mm == pytest.approx(1.5, abs=1e-9)
    assert base_out.as_made is None


def test_thickness_and_weight_are_also_told_with_the_centre_that_is_ordered() -> None:
    thinnest, thick = computed().right, computed(lenses__right__centre_thickness_mm=3.0).right

    assert thinnest.as_made is None
    assert thick.centre_thickness_mm == thinnest.centre_thickness_mm == 1.5
    assert thick.as_made is not None
    assert thick.as_made.centre_thickness_mm == thick.as_made.thinnest_mm == 3.0
    assert thick.as_made.weight_g > (thinnest.weight_g or 0.0)
    assert thick.shown("edge_max_mm") == thick.as_made.edge_max_mm
    assert thick.shown("decentration_in_mm") == 2.5
