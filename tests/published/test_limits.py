"""Published rows that state a rule or a direction, and one worked row of topic 10: the core agrees with them."""

from __future__ import annotations

import pytest

from dispensing.optics.centration import optical_centre_drop
from dispensing.optics.chromatic import transverse_chromatic_aberration, transverse_chromatic_aberration_at
from dispensing.optics.imbalance import proposed_slab_off, slab_off, vertical_imbalance
from dispensing.optics.power import SphereCylinder
from dispensing.optics.shape_families import assumed_shape
from dispensing.trade import Limits
from tests.optics.handbook import centre_drop_rule, longest_corridor
from tests.published.rows import PublishedCase, assert_reproduces, by_id, published


@published(by_id("F-06"))
def test_the_corridor_is_the_height_less_the_reading_allowance(case: PublishedCase) -> None:
    given = case.inputs
    room = Limits().of("corridor-fits", "reading_room_mm")
    assert_reproduces(case, {"corridor": longest_corridor(given["fitting_height"], given["reading_allowance"])})
    assert_reproduces(case, {"corridor": longest_corridor(given["fitting_height"], room)})


@published(by_id("TL-05"))
def test_the_optical_centre_drops_a_millimetre_for_two_degrees(case: PublishedCase) -> None:
    assert_reproduces(case, {"mm_per_2deg": centre_drop_rule(2.0)})
    assert optical_centre_drop(2.0) == pytest.approx(case.expected["mm_per_2deg"], abs=0.06)


@published(by_id("SLAB-L5"))
@pytest.mark.parametrize(
    ("right", "left", "eye"),
    [
        (SphereCylinder(-5.0), SphereCylinder(-2.0), "right"),
        (SphereCylinder(1.0), SphereCylinder(4.0), "right"),
        # Weaker in its sphere, but with more minus along 90.
        (SphereCylinder(-3.0), SphereCylinder(-2.5, -2.0, 180.0), "left"),
    ],
)
def test_slab_off_goes_base_up_on_the_most_minus_or_least_plus_in_the_vertical(
    case: PublishedCase, right: SphereCylinder, left: SphereCylinder, eye: str
) -> None:
    assert case.expected["lens"] == "most minus / least plus in the vertical meridian"
    slab = slab_off(vertical_imbalance(right, left))
    assert slab is not None
    assert (slab.eye, slab.base) == (eye, case.expected["base"])


@published(by_id("SLAB-L2"))
def test_a_large_slab_off_is_shared_with_a_reverse_one_on_the_fellow_eye(case: PublishedCase) -> None:
    most = case.expected["split_from"]
    (alone,) = proposed_slab_off(vertical_imbalance(SphereCylinder(-most), SphereCylinder(0.0)))
    assert (alone.eye, alone.amount_pd, alone.base) == ("right", most, "up")
    up, down = proposed_slab_off(vertical_imbalance(SphereCylinder(-most - 1.0), SphereCylinder(0.0)))
    assert (up.eye, up.base, down.eye, down.base) == ("right", "up", "left", "down")
    assert (up.amount_pd, down.amount_pd) == pytest.approx(((most + 1.0) / 2.0,) * 2)
    assert proposed_slab_off(vertical_imbalance(SphereCylinder(-2.0), SphereCylinder(-2.0))) == ()


@published(by_id("CA-03"))
def test_colour_is_prism_over_abbe_and_so_distance_times_power_over_abbe(case: PublishedCase) -> None:
    assert case.expected["formula"] == "TCA = P/V = dF/V"
    at_a_point = transverse_chromatic_aberration_at(SphereCylinder(-6.0), 0.0, -15.0, "right", 30.0)
    assert at_a_point == pytest.approx(transverse_chromatic_aberration(1.5 * 6.0, 30.0))


@published(by_id("FR-05"))
def test_a_and_b_are_the_box_and_ed_twice_the_longest_radius_from_its_centre(case: PublishedCase) -> None:
    assert case.expected["ED"] == "2 x longest radius from box centre"
    shape = assumed_shape(52.0, 38.0, 55.0, "panto")
    left, right, bottom, top = shape.box
    assert (shape.a_mm, shape.b_mm) == (right - left, top - bottom)
    assert (left + right, bottom + top) == pytest.approx((0.0, 0.0), abs=1e-8)
    assert shape.ed_mm == 2.0 * shape.radii.max()
