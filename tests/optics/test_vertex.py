"""Moving a sphero-cylinder along the line of sight."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from dispensing.optics.vertex import at_vertex, vertex_change
from tests.optics.lens_strategies import powers

distances = st.floats(5.0, 20.0)


@given(powers, distances, distances)
def test_moving_there_and_back_gives_the_prescription_back(power: SphereCylinder, near: float, far: float) -> None:
    assert at_vertex(at_vertex(power, near, far), far, near).distance_to(power) < 1e-9


@given(powers, distances, distances)
def test_moving_keeps_the_notation_free_and_the_axis_still(power: SphereCylinder, near: float, far: float) -> None:
    moved, turned = at_vertex(power, near, far), at_vertex(power.transposed(), near, far)
    assert moved.axis == power.axis
    assert moved.distance_to(turned) < 1e-9


def test_a_minus_lens_moved_towards_the_eye_needs_less_minus_and_a_plus_lens_more_plus() -> None:
    assert vertex_change(-6.0, 3.0) == pytest.approx(-5.894, abs=5e-4)
    assert vertex_change(6.0, 3.0) == pytest.approx(6.110, abs=5e-4)


def test_each_meridian_moves_by_itself() -> None:
    moved = at_vertex(SphereCylinder(-8.0, -4.0, 30), 12.0, 14.0)
    assert moved.sphere == pytest.approx(vertex_change(-8.0, -2.0))
    assert moved.sphere + moved.cylinder == pytest.approx(vertex_change(-12.0, -2.0))


def test_no_lens_is_moved_past_its_own_focus() -> None:
    with pytest.raises(OpticsError, match="focal length"):
        vertex_change(20.0, 50.0)


@pytest.mark.parametrize("bad", [float("nan"), -1.0, 500.0, None])
def test_an_impossible_vertex_distance_is_refused(bad: float) -> None:
    with pytest.raises(OpticsError) as refused:
        at_vertex(SphereCylinder(-8.0), bad, 12.0)
    assert refused.value.quantity == "vertex distance of the test"
    assert refused.value.unit == "mm"
