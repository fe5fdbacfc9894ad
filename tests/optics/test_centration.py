"""Near centration, face form, optical-centre drop, segments and corridors."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.centration import (
    decentration_in,
    decentration_up,
    mono_pd_in_lens_plane,
    near_inset,
    near_pd,
    optical_centre_drop,
)
from dispensing.optics.errors import OpticsError

pds = st.floats(24.0, 40.0)
work = st.floats(200.0, 1000.0)
vertices = st.none() | st.floats(8.0, 18.0)


@given(pds, work, vertices, st.floats(-15.0, 12.0))
def test_near_and_inset_add_up_to_the_far_pd(far: float, distance: float, vertex: float | None, power: float) -> None:
    near = near_pd(far, distance, vertex, power)
    assert 0.0 < near < far
    assert near + near_inset(far, distance, vertex, power) == pytest.approx(far)


@given(pds, work, st.floats(8.0, 18.0), st.floats(-15.0, 12.0))
def test_the_near_line_of_sight_bent_by_the_lens_meets_the_near_point(
    far: float, distance: float, vertex: float, power: float
) -> None:
    """Follow the ray: from the centre of rotation through the near centre, bent by Prentice, to the midline."""
    stop = vertex + 13.5
    near = near_pd(far, distance, vertex, power)
    inset = far - near
    slope_at_eye = inset / stop
    # Prentice: the lens, centred for far, turns the ray by power x decentration, a plus lens outwards.
    slope_before_lens = slope_at_eye - inset * power / 1000.0
    assert near - slope_before_lens * distance == pytest.approx(0.0, abs=1e-9)


@given(pds, work)
def test_a_plano_lens_gives_the_exam_form(far: float, distance: float) -> None:
    assert near_pd(far, distance, None, 0.0) == pytest.approx(far * distance / (distance + 27.0))


def test_a_minus_lens_needs_less_inset_and_a_plus_lens_more() -> None:
    minus, plano, plus = (near_inset(32.0, 400.0, 13.5, power) for power in (-9.0, 0.0, 9.0))
    assert minus < plano < plus


def test_the_counter_rule_is_within_a_millimetre_and_a_half_of_the_computed_pair() -> None:
    for far in (58.0, 63.0, 70.0):
        assert abs(far - 3.0 - near_pd(far, 400.0, None, 0.0)) < 1.6


def test_the_optical_centre_drops_by_the_sine_of_the_tilt() -> None:
    assert optical_centre_drop(9.0, 13.0) == pytest.approx(26.5 * math.sin(math.radians(9.0)))
    assert optical_centre_drop(9.0, 13.0) == pytest.approx(4.15, abs=0.005)
    assert optical_centre_drop(-5.0) == -optical_centre_drop(5.0)


@given(pds, st.floats(0.0, 25.0), st.floats(14.0, 24.0))
def test_a_lens_turned_by_the_face_form_carries_the_pd_further_out(pd: float, face_form: float, dbl: float) -> None:
    along_lens = mono_pd_in_lens_plane(pd, face_form, dbl)
    assert along_lens >= pd - 1e-12
    # Project the part on the lens back to the frontal plane: the measured PD returns.
    back = dbl / 2 + (along_lens - dbl / 2) * math.cos(math.radians(face_form))
    assert back == pytest.approx(pd)


def test_fitting_points_lie_where_the_box_says() -> None:
    assert decentration_in(52.0 + 18.0, 31.5) == 3.5
    assert decentration_in(52.0 + 18.0, 36.0) == -1.0
    assert decentration_up(21.0, 38.0) == 2.0
    assert decentration_up(17.0, 38.0) == -2.0
    with pytest.raises(OpticsError, match="monocular PD"):
        decentration_in(70.0, float("nan"))


@pytest.mark.parametrize(
    ("far", "distance", "vertex", "power", "quantity"),
    [
        (-1.0, 400.0, None, 0.0, "far PD"),
        (32.0, 0.0, None, 0.0, "working distance"),
        (32.0, 400.0, 90.0, 0.0, "vertex distance"),
        (32.0, 400.0, None, float("nan"), "power along 180"),
        (32.0, 400.0, 18.0, 35.0, "power along 180"),
    ],
)
def test_impossible_near_measures_are_refused_by_name(
    far: float, distance: float, vertex: float | None, power: float, quantity: str
) -> None:
    with pytest.raises(OpticsError) as refused:
        near_pd(far, distance, vertex, power)
    assert refused.value.quantity == quantity
