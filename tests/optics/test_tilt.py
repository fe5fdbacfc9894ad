"""The worn power of a tilted lens: the exact model and its inverse, compared with real rays and the handbook."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispensing.optics.errors import OpticsError
from dispensing.optics.oblique_lens import lens_rotation
from dispensing.optics.power import SphereCylinder
from dispensing.optics.tilt import power_to_order, tilt_prism, worn_power
from dispensing.optics.vertex import at_vertex
from tests.optics.handbook import handbook_tilted_power, total_tilt, wrap_prism
from tests.optics.lens_strategies import mirrored_position, thick_positions, thin_positions, weaker_powers
from tests.optics.real_rays import ThickLens, felt_power

positions = thin_positions() | thick_positions()


@given(weaker_powers, positions)
def test_what_is_ordered_for_the_worn_position_gives_the_prescription_back(
    prescribed: SphereCylinder, position: dict[str, Any]
) -> None:
    assert worn_power(power_to_order(prescribed, **position), **position).distance_to(prescribed) < 1e-9


@given(weaker_powers, positions)
def test_a_mirrored_lens_before_the_fellow_eye_is_felt_mirrored(
    ordered: SphereCylinder, position: dict[str, Any]
) -> None:
    fellow = worn_power(ordered.mirrored(), **mirrored_position(position))
    assert fellow.distance_to(worn_power(ordered, **position).mirrored()) < 1e-9


@given(weaker_powers, positions)
def test_a_lens_square_to_the_line_of_sight_is_felt_as_ordered(
    ordered: SphereCylinder, position: dict[str, Any]
) -> None:
    square = position | {"pantoscopic_deg": 0.0, "face_form_deg": 0.0, "worn_vertex_mm": position["tested_vertex_mm"]}
    assert worn_power(ordered, **square).distance_to(ordered) < 1e-9


@given(weaker_powers, thin_positions())
def test_the_vertex_distance_acts_on_what_the_tilt_has_made(ordered: SphereCylinder, position: dict[str, Any]) -> None:
    tilted_only = worn_power(ordered, **(position | {"tested_vertex_mm": None}))
    both = worn_power(ordered, **position)
    expected = at_vertex(tilted_only, position["worn_vertex_mm"], position["tested_vertex_mm"])
    assert both.distance_to(expected) < 1e-12


@given(weaker_powers, thick_positions())
def test_a_thick_lens_without_thickness_or_curve_is_the_thin_lens(
    ordered: SphereCylinder, position: dict[str, Any]
) -> None:
    thin = position | {"base_curve_d": None, "centre_thickness_mm": None}
    flat = position | {"centre_thickness_mm": 0.0}
    assert worn_power(ordered, **flat).distance_to(worn_power(ordered, **thin)) < 1e-9


@given(st.floats(-10.0, 8.0), st.floats(1.45, 1.8), st.floats(0.0, 25.0))
def test_one_tilt_of_a_sphere_gives_coddingtons_two_powers(sphere: float, index: float, tilt: float) -> None:
    i = math.radians(tilt)
    inside = math.asin(math.sin(i) / index)
    across = sphere * (index * math.cos(inside) - math.cos(i)) / (index - 1.0)
    for kind, axis in (("pantoscopic_deg", 180.0), ("face_form_deg", 90.0)):
        felt = worn_power(SphereCylinder(sphere), eye="left", index=index, **{kind: tilt})
        assert felt.power_along(axis) == pytest.approx(across, abs=1e-9)
        assert felt.power_along(axis + 90.0) == pytest.approx(across / math.cos(i) ** 2, abs=1e-9)


@settings(max_examples=60)
@given(weaker_powers, thick_positions())
def test_the_worn_power_of_a_thick_toric_lens_is_what_real_rays_do(
    ordered: SphereCylinder, position: dict[str, Any]
) -> None:
    position |= {"tested_vertex_mm": None}
    rotation = lens_rotation(position["eye"], position["pantoscopic_deg"], position["face_form_deg"])
    traced = felt_power(thick_lens(ordered, position), rotation)
    felt = worn_power(ordered, **position).matrix()
    assert np.abs(traced - felt).max() < 1e-4


@settings(max_examples=60)
@given(weaker_powers, thick_positions())
def test_the_prism_of_a_wrapped_lens_is_what_a_real_ray_does(ordered: SphereCylinder, position: dict[str, Any]) -> None:
    rotation = lens_rotation(position["eye"], position["pantoscopic_deg"], position["face_form_deg"])
    arriving = rotation @ thick_lens(ordered, position).traced_backwards(rotation.T @ np.array([0.0, 0.0, -1.0]))
    nasal = 1.0 if position["eye"] == "right" else -1.0
    kept = ("eye", "index", "pantoscopic_deg", "face_form_deg", "base_curve_d", "centre_thickness_mm")
    prism = tilt_prism(**{name: position[name] for name in kept})
    # Towards the eye light runs down z: what it gains across between object and eye is the prism.
    bent = 100.0 * arriving[:2] / arriving[2]
    assert (prism.in_pd, prism.up_pd) == pytest.approx((nasal * bent[0], bent[1]), abs=1e-6)


def thick_lens(ordered: SphereCylinder, position: dict[str, Any]) -> ThickLens:
    """The lens of back vertex power `ordered`, its back solved here from the definition of that power."""
    n, t = position["index"], position["centre_thickness_mm"]
    curvature = position["base_curve_d"] / 530.0
    front = 1000.0 * (n - 1.0) * curvature
    at_back = front / (1.0 - t / 1000.0 / n * front)
    # Convex to the object counts as positive; a surface from glass to air has power (1 - n) times that.
    back = (ordered.matrix() - at_back * np.eye(2)) / (1.0 - n) / 1000.0
    return ThickLens(curvature, back, t, n)


def test_a_plano_wrap_turns_light_base_out_on_both_eyes_and_base_down_under_pantoscopic_tilt() -> None:
    body: dict[str, Any] = {"index": 1.586, "base_curve_d": 8.0 * 0.53 / 0.586, "centre_thickness_mm": 2.2}
    for eye in ("right", "left"):
        wrapped = tilt_prism(eye=eye, face_form_deg=20.0, **body)
        assert wrapped.in_pd == pytest.approx(-0.428, abs=1e-3)
        assert wrapped.up_pd == 0.0
        tilted = tilt_prism(eye=eye, pantoscopic_deg=20.0, **body)
        assert tilted.up_pd == pytest.approx(-0.428, abs=1e-3)
    assert abs(wrapped.in_pd) == pytest.approx(wrap_prism(8.0, 2.2, 1.586, 20.0), abs=0.06)


def test_at_small_angles_the_exact_wrap_prism_is_the_handbooks() -> None:
    exact = tilt_prism(eye="right", index=1.6, base_curve_d=6.0, centre_thickness_mm=2.0, face_form_deg=1.0)
    front = 6.0 * 0.6 / 0.53
    assert -exact.in_pd == pytest.approx(wrap_prism(front, 2.0, 1.6, 1.0), rel=0.02)


@given(weaker_powers, st.sampled_from(["right", "left"]), st.floats(0.0, 12.0), st.floats(0.0, 8.0))
def test_at_ordinary_tilts_martins_formula_stays_close_to_the_exact_power(
    ordered: SphereCylinder, eye: Any, panto: float, face_form: float
) -> None:
    position: dict[str, Any] = {"eye": eye, "index": 1.6, "pantoscopic_deg": panto, "face_form_deg": face_form}
    exact, handbook = worn_power(ordered, **position), handbook_tilted_power(ordered, **position)
    # Martin spreads the effect on the cylinder evenly; the difference grows with the cylinder and tilt squared.
    allowed = 0.001 + 0.02 * abs(ordered.mean_sphere) * 0.1 + abs(ordered.cylinder) * math.sin(math.radians(15)) ** 2
    assert exact.distance_to(handbook) < allowed


def test_on_spheres_at_ten_degrees_the_two_models_differ_by_less_than_a_hundredth() -> None:
    for sphere in (-8.0, -3.0, 2.0, 6.0):
        position: dict[str, Any] = {"eye": "right", "index": 1.6, "pantoscopic_deg": 9.0, "face_form_deg": 5.0}
        exact = worn_power(SphereCylinder(sphere), **position)
        assert exact.distance_to(handbook_tilted_power(SphereCylinder(sphere), **position)) < 0.01


def test_face_form_turns_the_induced_cylinder_one_way_on_the_right_and_the_other_on_the_left() -> None:
    right, left = (
        worn_power(SphereCylinder(-4.0), eye=eye, index=1.6, pantoscopic_deg=10.0, face_form_deg=10.0)
        for eye in ("right", "left")
    )
    # The right lens turns about a line from upper temporal to lower nasal: its minus cylinder lies at 135.
    assert right.axis == pytest.approx(135.0, abs=1.0)
    assert left.axis == pytest.approx(45.0, abs=1.0)
    assert right.axis == pytest.approx(total_tilt(10.0, 10.0, "right").turning_axis_deg, abs=1.0)


def test_total_tilt_of_one_tilt_alone_is_that_tilt() -> None:
    assert total_tilt(10.0, 0.0) == total_tilt(10.0, 0.0, "left")
    assert (total_tilt(10.0, 0.0).angle_deg, total_tilt(10.0, 0.0).meridian_deg) == pytest.approx((10.0, 90.0))
    assert (total_tilt(0.0, 6.0).angle_deg, total_tilt(0.0, 6.0).meridian_deg) == pytest.approx((6.0, 180.0))
    assert total_tilt(0.0, 0.0).angle_deg == 0.0


@pytest.mark.parametrize(
    ("wrong", "quantity"),
    [
        ({"eye": "middle"}, "eye"),
        ({"index": 1.0}, "refractive index"),
        ({"index": float("nan")}, "refractive index"),
        ({"pantoscopic_deg": 60.0}, "pantoscopic tilt"),
        ({"face_form_deg": float("inf")}, "face form"),
        ({"base_curve_d": 4.0}, "lens body"),
        ({"base_curve_d": 40.0, "centre_thickness_mm": 2.0}, "base curve"),
        ({"base_curve_d": 4.0, "centre_thickness_mm": -2.0}, "centre thickness"),
        ({"tested_vertex_mm": 12.0, "worn_vertex_mm": -3.0}, "vertex distance as worn"),
    ],
)
def test_an_impossible_position_is_refused_by_name(wrong: dict[str, Any], quantity: str) -> None:
    position: dict[str, Any] = {"eye": "right", "index": 1.6, "pantoscopic_deg": 9.0} | wrong
    for compute in (worn_power, power_to_order):
        with pytest.raises(OpticsError) as refused:
            compute(SphereCylinder(-3.0), **position)
        assert refused.value.quantity.startswith(quantity.split(" as worn")[0])
