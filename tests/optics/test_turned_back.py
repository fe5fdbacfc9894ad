"""Backs turned for a prism: power and prism by real rays, and where they are thinnest, by an independent solid."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from dispensing.optics.boxing import LensShape
from dispensing.optics.errors import OpticsError
from dispensing.optics.lens_batches import lens_bodies
from dispensing.optics.lens_body import LensBody, lens_body
from dispensing.optics.oblique_lens import lens_rotation
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import prism_at
from dispensing.optics.shape_families import assumed_shape
from dispensing.optics.tilt import power_to_order, worn_power
from tests.optics.real_rays import felt_power
from tests.optics.turned_lenses import MIN_CENTRE_MM, MIN_EDGE_MM, Lens, lenses, solid_thickness, traced_differences

MAKE: dict[str, Any] = {"index": 1.6, "density_g_cm3": 1.3, "min_centre_mm": 1.8, "min_edge_mm": 1.0}
SOME = lenses(120, seed=4711)
ROUND = assumed_shape(48.0, 40.0, 50.0)


def minus_four(shape: LensShape = ROUND, **others: Any) -> LensBody:
    return lens_body(shape, SphereCylinder(-4.0), front_curve_d=3.0, **(MAKE | {"prism_in": 5.0} | others))


def sampled_within(lens: Lens, step_mm: float = 0.25) -> tuple[float, np.ndarray]:
    """The least thickness on a grid within the shape, and where."""
    outline = shapely.Polygon(lens.body.shape.points_in_up())
    steps = np.arange(-30.0, 30.0, step_mm)
    places = np.stack([one.ravel() for one in np.meshgrid(steps, steps)], axis=1)
    places = places[shapely.contains_xy(outline, places[:, 0], places[:, 1])]
    thickness = lens.body.thickness_at(places[:, 0], places[:, 1])
    return float(thickness.min()), places[int(np.argmin(thickness))]


def test_real_rays_find_the_ordered_power_and_prism_at_the_reference_point() -> None:
    power, prism = (max(values) for values in zip(*map(traced_differences, SOME), strict=True))
    assert power < 1e-3  # 0.02 D is wanted; what remains is the tracer's own difference quotient
    assert prism < 1e-5


def test_a_back_that_is_turned_without_new_curves_would_not_give_the_power() -> None:
    lens = next(lens for lens in SOME if np.hypot(lens.prism_in, lens.prism_up) > 8.0)
    back = replace(lens.body.back, along_d=lens.body.back.across_d, across_d=lens.body.back.across_d)
    wrong = replace(lens, body=replace(lens.body, back=back))
    assert traced_differences(wrong)[0] > 0.02 > traced_differences(lens)[0]


@pytest.mark.parametrize("lens", SOME[:40], ids=lambda lens: f"{lens.power.sphere:.2f}")
def test_the_thickness_is_that_of_an_independent_solid(lens: Lens) -> None:
    corners = lens.body.shape.points_in_up()
    for corner in range(0, len(corners), 80):
        assert solid_thickness(lens, *corners[corner]) == pytest.approx(lens.body.edge_mm[corner], abs=1e-9)
    assert solid_thickness(lens, *lens.body.thinnest_at) == pytest.approx(lens.body.thinnest_mm, abs=1e-9)
    assert solid_thickness(lens, *lens.body.reference_in_up_mm) == pytest.approx(lens.body.centre_thickness_mm)


@pytest.mark.parametrize("lens", SOME, ids=lambda lens: f"{lens.power.sphere:.2f}")
def test_nowhere_inside_is_a_lens_thinner_than_its_thinnest_place(lens: Lens) -> None:
    least, place = sampled_within(lens)
    assert least >= lens.body.thinnest_mm - 1e-9
    at_the_edge = lens.body.thinnest_mm == lens.body.edge_min_mm
    assert least == pytest.approx(lens.body.thinnest_mm, abs=0.1 if at_the_edge else 1e-3)
    if not at_the_edge:
        assert np.hypot(*(place - lens.body.thinnest_at)) < 1.0


@pytest.mark.parametrize("lens", SOME, ids=lambda lens: f"{lens.power.sphere:.2f}")
def test_no_thinner_centre_would_keep_the_minima(lens: Lens) -> None:
    body = lens.body
    assert body.centre_thickness_mm >= MIN_CENTRE_MM
    assert body.edge_min_mm >= MIN_EDGE_MM - 1e-9
    inside = body.thinnest_mm < body.edge_min_mm
    assert not inside or body.thinnest_mm >= MIN_CENTRE_MM - 1e-9
    held_by = (
        body.centre_thickness_mm - MIN_CENTRE_MM,
        body.edge_min_mm - MIN_EDGE_MM,
        body.thinnest_mm - MIN_CENTRE_MM if inside else np.inf,
    )
    assert min(map(abs, held_by)) < 1e-8


def test_minus_four_with_five_prism_dioptres_is_not_thin_inside() -> None:
    body = minus_four()
    assert body.thinnest_mm == pytest.approx(1.8, abs=1e-9)
    assert body.thinnest_at == pytest.approx((-12.79, 0.0), abs=0.01)
    assert body.centre_thickness_mm == pytest.approx(2.3301, abs=1e-4)
    assert minus_four(prism_in=0.0).centre_thickness_mm == 1.8


def test_the_base_of_the_prism_decides_on_which_side_a_lens_is_thinnest() -> None:
    for prism, side in (({"prism_in": -5.0}, (1.0, 0.0)), ({"prism_in": 0.0, "prism_up": -5.0}, (0.0, 1.0))):
        for shape in (ROUND, ROUND.mirrored()):
            body = minus_four(shape, **prism)
            assert body.thinnest_at == pytest.approx((12.79 * side[0], 12.79 * side[1]), abs=0.01)


def test_a_thinnest_place_outside_the_shape_asks_for_nothing() -> None:
    reaches, falls_short = (minus_four(LensShape([half] * 400, "right")) for half in (13.0, 12.5))
    assert reaches.thinnest_mm == pytest.approx(1.8, abs=1e-9)
    assert falls_short.centre_thickness_mm == 1.8
    assert falls_short.thinnest_mm == falls_short.edge_min_mm == pytest.approx(1.27, abs=0.01)


def test_a_lens_whose_reference_point_lies_outside_its_shape_is_thinnest_where_the_shape_is() -> None:
    body = lens_body(ROUND, SphereCylinder(-4.0), front_curve_d=3.0, reference_in_up_mm=(30.0, 0.0), **MAKE)
    assert body.centre_thickness_mm == 1.8
    assert body.thinnest_mm == body.edge_min_mm > 1.8


def test_an_ordered_centre_says_how_thin_the_lens_is_inside() -> None:
    body = minus_four(centre_thickness_mm=1.8)
    assert body.centre_thickness_mm == 1.8
    assert body.thinnest_mm == pytest.approx(1.26936, abs=1e-4)


def test_many_lenses_with_and_without_prism_come_out_as_one_by_one_digit_for_digit() -> None:
    drawn = lenses(70, seed=3)
    given = [(0.0, 0.0) if row % 3 == 0 else (lens.prism_in, lens.prism_up) for row, lens in enumerate(drawn)]
    limits = MAKE | {"min_centre_mm": 1.8}
    many = lens_bodies(
        [lens.body.shape for lens in drawn],
        sphere=[lens.power.sphere for lens in drawn],
        cylinder=[lens.power.cylinder for lens in drawn],
        axis_deg=[lens.power.axis for lens in drawn],
        front_curve_d=4.0,
        prism_in=[prism[0] for prism in given],
        prism_up=[prism[1] for prism in given],
        **limits,
    )
    for row, (lens, (prism_in, prism_up)) in enumerate(zip(drawn, given, strict=True)):
        one = lens_body(lens.body.shape, lens.power, front_curve_d=4.0, prism_in=prism_in, prism_up=prism_up, **limits)
        for quantity in ("centre_thickness_mm", "thinnest_mm", "edge_min_mm", "edge_max_mm", "volume_mm3", "weight_g"):
            assert getattr(many, quantity)[row] == pytest.approx(getattr(one, quantity), rel=1e-12, abs=1e-11)


def test_a_turned_back_that_does_not_reach_is_refused() -> None:
    with pytest.raises(OpticsError, match="distance of the edge from the centre"):
        lens_body(ROUND, SphereCylinder(-12.0), front_curve_d=12.0, prism_in=5.0, **MAKE)


@pytest.mark.parametrize("lens", SOME[:40], ids=lambda lens: f"{lens.power.sphere:.2f}")
def test_the_prism_anywhere_on_a_lens_is_that_of_an_independent_ray(lens: Lens) -> None:
    body = lens.body
    at_reference = body.prism_at(*body.reference_in_up_mm)
    assert (at_reference.in_pd, at_reference.up_pd) == pytest.approx((lens.prism_in, lens.prism_up), abs=1e-9)
    place = np.array([3.0, -9.0])
    x, y = (place - body.reference_in_up_mm) * [body.shape.in_sign, 1.0]
    _, leaving = lens.solid.traced(np.array([x, y, 10.0]), np.array([0.0, 0.0, -1.0]))
    found = body.prism_at(*place)
    expected = 100.0 * leaving[0] / -leaving[2] * body.shape.in_sign, 100.0 * leaving[1] / -leaving[2]
    assert (found.in_pd, found.up_pd) == pytest.approx(expected, abs=1e-4)


def test_prentice_is_out_by_less_near_the_centre_of_a_turned_lens_than_far_from_it() -> None:
    body = minus_four()
    gaps = []
    for below in (1.0, 5.0, 15.0):
        found = body.prism_at(0.0, -below)
        gaps.append(abs(found.up_pd - prism_at(body.power, 0.0, -below, "right").up_pd))
    assert max(gaps[:2]) < 0.02
    assert gaps[2] > 0.1


def test_where_no_light_leaves_the_lens_there_is_no_prism() -> None:
    with pytest.raises(OpticsError):
        minus_four().prism_at(0.0, 190.0)


@pytest.mark.parametrize(("pantoscopic_deg", "face_form_deg"), [(0.0, 0.0), (9.0, 5.0), (12.0, 20.0)])
def test_the_power_felt_through_a_tilted_lens_with_prism_is_what_rays_find(
    pantoscopic_deg: float, face_form_deg: float
) -> None:
    for lens in SOME[:25]:
        eye = lens.body.shape.side
        tilts: dict[str, Any] = {"pantoscopic_deg": pantoscopic_deg, "face_form_deg": face_form_deg}
        position: dict[str, Any] = tilts | {
            "eye": eye,
            "index": lens.index,
            "base_curve_d": lens.body.front_curvature * 530.0,
            "centre_thickness_mm": lens.body.centre_thickness_mm,
            "prism_in_pd": lens.prism_in,
            "prism_up_pd": lens.prism_up,
        }
        felt = worn_power(lens.power, **position)
        found = felt_power(lens.solid, lens_rotation(eye, **tilts), step_mm=0.1)
        assert np.abs(felt.matrix() - (found + found.T) / 2.0).max() < 2e-3
        assert power_to_order(felt, **position).distance_to(lens.power) < 1e-9
