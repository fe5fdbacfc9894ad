"""What is to be made follows from prescription and use: the power, the PD, and everything that is about the lens."""

from __future__ import annotations

from typing import Any

import pytest

from orders.documents.lens_order import LensOrder
from orders.documents.order_report import ComputedEye, OrderReport
from orders.drawings.pair import order_drawing
from orders.rules import check
from orders.rules.examples import example_catalogue
from tests.orders.rules.test_computed import order_with

FAR = {"fitting__right__pd_mm": 31.5, "fitting__left__pd_mm": 32.0}
PLUS: dict[str, Any] = {
    "lenses__right__design": "single",
    "lenses__left__design": "single",
    "prescription__right": {"sphere": 1.75, "cylinder": -0.5, "axis": 90, "add": 2.5, "prism": []},
    "prescription__left": {"sphere": 1.25, "cylinder": None, "axis": None, "add": 2.25, "prism": []},
}


def order_for(use: str | None, **changes: Any) -> LensOrder:
    """Single vision in +1.75 −0.50 × 90 add 2.50 and +1.25 add 2.25; `use` is what the pair is for."""
    return order_with(**(PLUS | {"use": use} | changes))


def reported(order: LensOrder) -> OrderReport:
    return check(order, example_catalogue())


def right_and_left(order: LensOrder) -> tuple[ComputedEye, ComputedEye]:
    computed = reported(order).computed
    return computed.right, computed.left


def power_of(eye: ComputedEye) -> tuple[float | None, float | None, float | None]:
    assert eye.power is not None
    return eye.power.sphere, eye.power.cylinder, eye.power.axis


def by(eye: ComputedEye) -> str | None:
    return None if eye.power is None else eye.power.by


def test_a_reading_pair_is_made_with_the_add_and_at_the_near_pds() -> None:
    right, left = right_and_left(order_for("near", fitting__right__near_pd_mm=29.0))

    assert (power_of(right), by(right)) == ((4.25, -0.5, 90.0), "near")
    assert (power_of(left), by(left)) == ((3.5, None, None), "near")
    assert (right.pd_used_mm, right.pd_used_by) == (29.0, "near_measured")
    assert (left.pd_used_mm, left.pd_used_by) == (left.near_pd_mm, "near_computed")
    assert right.decentration_in_mm == 34.0 - 29.0
    assert right.mean_sphere == 4.0


def test_the_near_pd_follows_the_handbook_behind_the_distance_power() -> None:
    _, left = right_and_left(order_for("near"))

    # far − far / (1 + W (1/s − F/1000)); s = 13 + 13.5
    assert left.pd_used_mm == pytest.approx(32.0 - 32.0 / (1.0 + 400.0 * (1.0 / 26.5 - 1.25 / 1000.0)))


def test_the_same_prescription_for_the_distance_keeps_its_sphere_and_far_pds() -> None:
    right, left = right_and_left(order_for("distance", fitting__right__near_pd_mm=29.0))

    assert (power_of(right), by(right)) == ((1.75, -0.5, 90.0), "prescription")
    assert (power_of(left), by(left)) == ((1.25, None, None), "prescription")
    assert (right.pd_used_mm, right.pd_used_by) == (31.5, "far")
    assert right.mean_sphere == 1.5


def test_the_lens_for_near_is_thicker_and_steeper_than_the_one_for_the_distance() -> None:
    eye = {"sphere": 2.25, "cylinder": -0.5, "axis": 90, "add": 2.5, "prism": []}
    near, far = (right_and_left(order_for(use, prescription__right=eye))[0] for use in ("near", "distance"))

    assert (near.base_curve_d, far.base_curve_d) == (8.0, 6.5)
    assert near.centre_thickness_mm is not None
    assert far.centre_thickness_mm is not None
    assert near.centre_thickness_mm > far.centre_thickness_mm + 1.0
    assert near.as_worn is not None
    assert near.as_worn.sphere > 4.7
    assert near.blank_needed_mm is not None
    assert far.blank_needed_mm is not None
    assert near.blank_needed_mm > far.blank_needed_mm + 2.0


def test_the_written_intermediate_add_makes_an_intermediate_pair() -> None:
    eye = {"sphere": 1.75, "cylinder": -0.5, "axis": 90, "add": 2.5, "intermediate_add": 1.5, "prism": []}
    right, left = right_and_left(order_for("intermediate", prescription__right=eye))

    assert (power_of(right)[0], by(right)) == (3.25, "intermediate")
    assert (power_of(left)[0], by(left)) == (1.25 + 1.125, "half_the_add")
    assert right.pd_used_by == "near_computed"


def test_the_use_of_the_order_comes_before_that_of_the_prescription() -> None:
    order = order_for("near", prescription__use="distance")
    assert power_of(right_and_left(order)[0])[0] == 4.25
    assert power_of(right_and_left(order_for(None, prescription__use="near"))[0])[0] == 4.25
    assert power_of(right_and_left(order_for(None, prescription__use="distance"))[0])[0] == 1.75


def test_the_distance_part_of_a_multifocal_stays_as_prescribed_for_any_use() -> None:
    right, left = right_and_left(order_for("near", lenses__right__design="progressive"))

    assert (power_of(right)[0], right.pd_used_by) == (1.75, "far")
    assert (power_of(left)[0], left.pd_used_by) == (3.5, "near_computed")


def test_a_stated_power_is_what_is_made_and_keeps_the_prescribed_prism_unless_it_states_its_own() -> None:
    prism = [{"amount": 1.0, "base": "in"}]
    stated = {"sphere": 4.0, "cylinder": -0.5, "axis": 92}
    lens = {"design": "single", "material": "m160", "treatments": [], "power": stated}
    eye = {**PLUS["prescription__right"], "prism": prism}
    right, left = right_and_left(order_for("near", lenses__right=lens, prescription__right=eye))

    assert (power_of(right), by(right)) == ((4.0, -0.5, 92.0), "order")
    assert right.power is not None
    assert [part.amount for part in right.power.prism] == [1.0]
    assert by(left) == "near"

    without = {**lens, "power": {**stated, "prism": []}}
    right, _ = right_and_left(order_for("near", lenses__right=without, prescription__right=eye))
    assert right.power is not None
    assert right.power.prism == ()


def test_a_stated_power_that_follows_from_the_use_comes_from_the_use() -> None:
    lens = {"design": "single", "material": "m160", "treatments": []}
    same = lens | {"power": {"sphere": 4.25, "cylinder": -0.5, "axis": 90, "prism": []}}
    assert by(right_and_left(order_for("near", lenses__right=same))[0]) == "near"
    assert by(right_and_left(order_for("distance", lenses__right=same))[0]) == "order"


def asked_of_power(**power: Any) -> list[str]:
    lens = {"design": "single", "material": "m160", "treatments": [], "power": power}
    findings = reported(order_for("near", lenses__right=lens)).findings
    return [part.message for part in findings if part.rule == "ordered-power"]


def test_sphere_cylinder_and_axis_are_each_held_against_what_follows() -> None:
    assert asked_of_power(sphere=4.25, cylinder=-0.5, axis=90) == []
    assert len(asked_of_power(sphere=4.0, cylinder=-0.5, axis=90)) == 1
    assert len(asked_of_power(sphere=4.25, cylinder=-0.75, axis=90)) == 1
    # 2 × 0.50 × sin 5° = 0.09 D of cylinder left over, from 3° on no more than the 0.06 allowed.
    assert len(asked_of_power(sphere=4.25, cylinder=-0.5, axis=95)) == 1
    assert asked_of_power(sphere=4.25, cylinder=-0.5, axis=93) == []


def test_a_stated_power_without_a_sphere_states_nothing() -> None:
    lens = {"design": "single", "material": "m160", "treatments": [], "power": {"cylinder": -0.5}}
    assert power_of(right_and_left(order_for("near", lenses__right=lens))[0])[0] == 4.25


def test_without_a_working_distance_no_near_pd_is_made_up() -> None:
    right, left = right_and_left(order_for("near", fitting__near_distance_mm=None, fitting__left__near_pd_mm=30.0))

    assert (right.pd_used_mm, right.pd_used_by, right.decentration_in_mm) == (None, None, None)
    assert (left.pd_used_mm, left.pd_used_by) == (30.0, "near_measured")


def test_half_of_the_binocular_pd_serves_only_where_neither_eye_was_measured() -> None:
    nobody = {"fitting__right__pd_mm": None, "fitting__left__pd_mm": None}
    right, left = right_and_left(order_for("distance", **nobody))
    assert (right.pd_used_mm, right.pd_used_by) == (31.75, "half_the_binocular")
    assert (left.pd_used_mm, left.pd_used_by) == (31.75, "half_the_binocular")

    right, left = right_and_left(order_for("near", **nobody))
    assert right.near_inset_mm is not None
    assert (right.pd_used_mm, right.pd_used_by) == (31.75 - right.near_inset_mm, "near_computed")

    right, left = right_and_left(order_for("distance", fitting__right__pd_mm=None))
    assert (right.pd_used_mm, right.decentration_in_mm) == (None, None)
    assert left.pd_used_mm == 32.0


def test_whether_the_frame_suits_the_face_is_judged_by_the_far_pd() -> None:
    def asked(order: LensOrder) -> list[tuple[str | None, float | str | None]]:
        return [(part.eye, part.found) for part in reported(order).findings if part.rule == "decentration"]

    assert asked(order_for("near", fitting__right__near_pd_mm=28.0)) == []
    assert asked(order_for("near", fitting__right__pd_mm=29.5)) == [("right", 4.5)]


def test_the_power_to_be_made_is_held_against_the_range_of_the_design() -> None:
    def refused(order: LensOrder) -> list[tuple[float | str | None, float | str | None]]:
        return [(part.found, part.limit) for part in reported(order).findings if part.rule == "in-range"]

    eye: dict[str, Any] = {"sphere": 5.5, "cylinder": None, "axis": None, "add": 2.5, "prism": []}
    assert refused(order_for("near", prescription__right=eye)) == []
    beyond = order_for("near", prescription__right=eye | {"sphere": 5.75})
    assert refused(beyond) == [(8.25, 8.0)]
    assert any("+8.25 (+5.75 with an add of +2.50)" in part.message for part in reported(beyond).findings)
    assert refused(order_for("distance", prescription__right=eye | {"sphere": 5.75})) == []


def test_the_drawing_of_a_reading_pair_names_its_near_pds() -> None:
    order = order_for("near", fitting__right__near_pd_mm=29.0, fitting__left__near_pd_mm=29.5)
    near, far = (order_drawing(one, example_catalogue()) for one in (order, order_for("distance")))

    assert "near 29.0" in near
    assert "near 29.5" in near
    assert "PD 31.5" in far
    assert "near 3" not in far
