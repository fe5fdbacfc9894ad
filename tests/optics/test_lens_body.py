"""Lens bodies: what the contract of a lens body says, compared with direct integration and a mesh."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from dispensing.optics.boxing import LensShape
from dispensing.optics.errors import OpticsError
from dispensing.optics.lens_batches import lens_bodies
from dispensing.optics.lens_body import LensBody, lens_body
from dispensing.optics.outline import area_of, heights_over
from dispensing.optics.power import SphereCylinder
from dispensing.optics.shape_families import assumed_shape
from dispensing.optics.surface import (
    forwarded,
    true_from_marked,
)
from tests.optics.lens_strategies import axes
from tests.optics.outline_strategies import sides

MAKE: dict[str, Any] = {"index": 1.6, "density_g_cm3": 1.3, "min_centre_mm": 1.5, "min_edge_mm": 1.0}
PANTO = assumed_shape(52.0, 40.0, 55.0, "panto")
powers = st.builds(SphereCylinder, st.floats(-8.0, 5.0), st.floats(-4.0, 2.0), axes)
places = st.tuples(st.floats(-4.0, 5.0), st.floats(-4.0, 5.0))


def made(power: SphereCylinder, shape: LensShape = PANTO, **others: Any) -> LensBody:
    """A body on a front that suits the power."""
    curve = others.pop("front_curve_d", float(np.clip(5.0 + 0.5 * power.mean_sphere, 1.0, 8.0)))
    return lens_body(shape, power, front_curve_d=curve, **(MAKE | others))


def volume_by_columns(body: LensBody) -> float:
    """Gauss in upright columns between the corners' places: shares no step with the product's triangles."""
    points = body.shape.points_in_up()
    ends = points[:, 0].min(), points[:, 0].max()
    breaks = np.unique(np.clip(np.append(np.round(points[:, 0], 9), np.linspace(*ends, 40)), *ends))
    across, across_weights = np.polynomial.legendre.leggauss(3)
    upwards, upwards_weights = np.polynomial.legendre.leggauss(20)
    half, middle = np.diff(breaks)[:, None] / 2.0, (breaks[:-1, None] + breaks[1:, None]) / 2.0
    x = (middle + half * across).ravel()
    low, high = heights_over(points, x)
    y = (low + high)[:, None] / 2.0 + (high - low)[:, None] / 2.0 * upwards
    columns = body.thickness_at(np.broadcast_to(x[:, None], y.shape), y) @ upwards_weights * (high - low) / 2.0
    return float(columns @ (half * across_weights).ravel())


@given(powers, places)
def test_the_centre_is_the_thinnest_that_keeps_minimum_centre_and_minimum_edge(
    power: SphereCylinder, place: tuple[float, float]
) -> None:
    body = made(power, reference_in_up_mm=place)
    assert body.centre_thickness_mm >= 1.5
    assert body.edge_min_mm >= 1.0 - 1e-9
    held_by_centre = body.centre_thickness_mm == 1.5
    held_by_edge = body.edge_min_mm == pytest.approx(1.0, abs=1e-8)
    assert held_by_centre or held_by_edge


@given(powers)
def test_the_back_gives_the_exact_back_vertex_power_in_each_meridian(power: SphereCylinder) -> None:
    body = made(power)
    front = 1000.0 * (1.6 - 1.0) * body.front_curvature
    at_back = front / (1.0 - body.centre_thickness_mm / 1000.0 / 1.6 * front)
    found = [at_back + back for back in (body.back.along_d, body.back.across_d)]
    assert found == pytest.approx([power.sphere, power.sphere + power.cylinder], abs=1e-9)


@given(powers, places, sides)
def test_the_edge_is_the_thickness_at_the_shape_itself(
    power: SphereCylinder, place: tuple[float, float], side: str
) -> None:
    shape = PANTO if side == "right" else PANTO.mirrored()
    body = made(power, shape, reference_in_up_mm=place, prism_in=1.5, prism_up=-0.75)
    points = shape.points_in_up()
    assert np.allclose(body.thickness_at(points[:, 0], points[:, 1]), body.edge_mm, atol=1e-9)
    assert float(body.thickness_at(*place)) == pytest.approx(body.centre_thickness_mm)
    assert float(body.thickness_at(*body.thinnest_at)) == pytest.approx(body.thinnest_mm)
    assert body.thinnest_mm <= min(body.edge_min_mm, body.centre_thickness_mm)
    assert float(body.thickness_at(*body.thickest_at)) == pytest.approx(body.edge_max_mm)


@given(powers, places)
def test_mirroring_a_lens_swaps_the_eyes_and_nothing_else(power: SphereCylinder, place: tuple[float, float]) -> None:
    right = made(power, PANTO, reference_in_up_mm=place, prism_in=2.0)
    left = made(power.mirrored(), PANTO.mirrored(), reference_in_up_mm=place, prism_in=2.0)
    for quantity in ("centre_thickness_mm", "edge_min_mm", "edge_max_mm", "volume_mm3", "weight_g"):
        assert getattr(left, quantity) == pytest.approx(getattr(right, quantity), abs=1e-8)


@given(powers)
def test_plus_and_minus_cylinder_write_the_same_lens(power: SphereCylinder) -> None:
    one, other = made(power), made(power.transposed())
    assert other.centre_thickness_mm == pytest.approx(one.centre_thickness_mm, abs=1e-8)
    assert other.edge_mm == pytest.approx(one.edge_mm, abs=1e-8)


@settings(max_examples=40)
@given(powers, places, st.sampled_from([36, 60, 200, 299, 359, 360, 400]))
def test_the_volume_is_what_upright_columns_add_up_to(
    power: SphereCylinder, place: tuple[float, float], count: int
) -> None:
    body = made(power, PANTO.resampled(count), reference_in_up_mm=place, prism_up=1.0)
    assert body.volume_mm3 == pytest.approx(volume_by_columns(body), rel=3e-5)
    assert body.weight_g == pytest.approx(body.volume_mm3 * 1.3 / 1000.0)


@pytest.mark.parametrize("power", [SphereCylinder(-4.0, -1.5, 20.0), SphereCylinder(3.0, -2.0, 70.0)])
def test_the_volume_is_that_of_a_closed_mesh_of_the_edged_lens(power: SphereCylinder) -> None:
    body = made(power, reference_in_up_mm=(3.0, 1.0))
    mesh = mesh_of(body)
    assert mesh.is_watertight
    assert body.volume_mm3 == pytest.approx(abs(mesh.volume), rel=3e-4)  # the mesh has flat facets of 0.5 mm


def mesh_of(body: LensBody, rings: int = 60) -> trimesh.Trimesh:
    """Front and back as nets of rings from the boxed centre to the shape, closed along the edge."""
    points = body.shape.points_in_up()
    count = len(points)
    net = np.concatenate([[[0.0, 0.0]], *(points * ring / rings for ring in range(1, rings + 1))])
    from_apex = net - np.array(body.reference_in_up_mm)
    radius = 1.0 / body.front_curvature
    front = radius - np.sqrt(radius**2 - (from_apex**2).sum(axis=1))
    back = front + body.thickness_at(net[:, 0], net[:, 1])
    faces = [(0, 1 + i, 1 + (i + 1) % count) for i in range(count)]
    for ring in range(rings - 1):
        inner, outer = 1 + ring * count, 1 + (ring + 1) * count
        for i in range(count):
            j = (i + 1) % count
            faces += [(inner + i, outer + i, outer + j), (inner + i, outer + j, inner + j)]
    size, rim = len(net), 1 + (rings - 1) * count
    back_faces = [(size + a, size + c, size + b) for a, b, c in faces]
    wall = []
    for i in range(count):
        a, b = rim + i, rim + (i + 1) % count
        wall += [(a, size + a, size + b), (a, size + b, b)]
    vertices = np.concatenate([np.column_stack([net, front]), np.column_stack([net, back])])
    return trimesh.Trimesh(vertices, faces + back_faces + wall, process=False)


def test_a_plano_lens_without_curves_is_a_slab() -> None:
    body = made(SphereCylinder(0.0), front_curve_d=0.0)
    assert body.edge_mm == pytest.approx(np.full(400, 1.5))
    assert body.volume_mm3 == pytest.approx(1.5 * area_of(PANTO.points()))


def test_a_minus_lens_decentred_in_is_thickest_at_the_temple() -> None:
    body = made(SphereCylinder(-5.0), reference_in_up_mm=(4.0, 0.0))
    assert body.centre_thickness_mm == 1.5
    assert body.thickest_at[0] < -20.0


def test_a_plus_lens_is_thinnest_where_the_shape_is_farthest_from_its_centre() -> None:
    body = made(SphereCylinder(4.0), reference_in_up_mm=(3.0, 2.0))
    points = PANTO.points_in_up()
    farthest = points[np.argmax(np.hypot(points[:, 0] - 3.0, points[:, 1] - 2.0))]
    assert body.thinnest_at == pytest.approx(tuple(farthest))


def test_a_minus_cylinder_at_180_makes_the_edge_thick_above_and_below() -> None:
    body = made(SphereCylinder(0.0, -4.0, 180.0), assumed_shape(44.0, 44.0, family="round"))
    assert abs(body.thickest_at[1]) == pytest.approx(22.0, abs=0.5)
    thinnest_edge = body.shape.points_in_up()[np.argmin(body.edge_mm)]
    assert abs(thinnest_edge[0]) == pytest.approx(22.0, abs=0.5)
    assert body.thinnest_at == (0.0, 0.0)


def test_a_smaller_minimum_edge_makes_a_plus_lens_thinner_and_lighter() -> None:
    full_rim, drilled = made(SphereCylinder(4.0)), made(SphereCylinder(4.0), min_edge_mm=2.0)
    assert drilled.centre_thickness_mm > full_rim.centre_thickness_mm + 0.9
    assert drilled.weight_g > full_rim.weight_g


@pytest.mark.parametrize(("prism_in", "prism_up"), [(3.0, 0.0), (0.0, 2.0), (-2.0, 1.5)])
def test_a_prescribed_prism_thickens_the_edge_towards_its_base(prism_in: float, prism_up: float) -> None:
    body = made(SphereCylinder(0.0), front_curve_d=4.0, prism_in=prism_in, prism_up=prism_up)
    towards_base = np.array(body.thickest_at) @ np.array([prism_in, prism_up])
    assert towards_base > 0.0
    assert np.array(body.thinnest_at) @ np.array([prism_in, prism_up]) < 0.0


def test_the_slope_for_a_prism_turns_the_ray_through_the_reference_point_by_exactly_that_prism() -> None:
    body = made(SphereCylinder(-2.0), prism_in=4.0)
    slope = body.back.slope
    inside = np.arctan(slope)
    bent = np.arcsin(1.6 * np.sin(inside)) - inside
    assert 100.0 * np.tan(bent) == pytest.approx(4.0)
    step = 1e-4
    rise = body.thickness_at(step, 0.0) - body.thickness_at(-step, 0.0)
    assert float(rise) / (2.0 * step) == pytest.approx(slope, rel=1e-6)


def test_an_ordered_centre_thickness_is_made_as_it_is_even_where_the_edge_runs_out() -> None:
    body = made(SphereCylinder(4.0), centre_thickness_mm=2.0)
    assert body.centre_thickness_mm == 2.0
    assert body.edge_min_mm < 0.0


def test_the_edge_profile_goes_round_from_the_viewers_right() -> None:
    profile = made(SphereCylinder(-3.0)).edge_profile()
    assert profile.shape == (400, 2)
    assert profile[100, 0] == pytest.approx(90.0)
    assert profile[100, 1] == pytest.approx(float(made(SphereCylinder(-3.0)).thickness_at(0.0, PANTO.points()[100, 1])))


@given(st.data())
@settings(max_examples=25)
def test_many_lenses_at_once_come_out_as_one_by_one(data: st.DataObject) -> None:
    drawn = data.draw(st.lists(st.tuples(powers, places, sides), min_size=1, max_size=6))
    shapes = [PANTO if side == "right" else PANTO.mirrored() for _, _, side in drawn]
    many = lens_bodies(
        shapes,
        sphere=[power.sphere for power, _, _ in drawn],
        cylinder=[power.cylinder for power, _, _ in drawn],
        axis_deg=[power.axis for power, _, _ in drawn],
        front_curve_d=5.0,
        reference_in_mm=[place[0] for _, place, _ in drawn],
        reference_up_mm=[place[1] for _, place, _ in drawn],
        prism_in=0.5,
        **MAKE,
    )
    for row, ((power, place, _), shape) in enumerate(zip(drawn, shapes, strict=True)):
        one = made(power, shape, front_curve_d=5.0, reference_in_up_mm=place, prism_in=0.5)
        for quantity in ("centre_thickness_mm", "edge_min_mm", "edge_max_mm", "volume_mm3", "weight_g"):
            assert getattr(many, quantity)[row] == pytest.approx(getattr(one, quantity), rel=1e-9, abs=1e-7)


def test_more_lenses_than_are_worked_at_a_time_keep_their_order() -> None:
    spheres = np.linspace(-6.0, 3.0, 200)
    many = lens_bodies(PANTO, sphere=spheres, cylinder=0.0, axis_deg=180.0, front_curve_d=5.0, **MAKE)
    for row in (0, 31, 32, 150, 199):
        one = made(SphereCylinder(float(spheres[row])), front_curve_d=5.0)
        assert many.weight_g[row] == pytest.approx(one.weight_g, abs=1e-9)


@given(powers, st.floats(0.5, 3.0))
def test_a_higher_minimum_centre_never_makes_a_thinner_lens(power: SphereCylinder, more: float) -> None:
    assert made(power, min_centre_mm=1.5 + more).centre_thickness_mm >= made(power).centre_thickness_mm - 1e-8


@given(st.floats(-8.0, -1.0), st.floats(4.0, 12.0))
def test_the_power_measured_from_the_front_is_weaker_than_the_back_vertex_power(sphere: float, curve: float) -> None:
    assume(abs(sphere) < 6.0 or curve < 8.0)
    body = made(SphereCylinder(sphere), assumed_shape(44.0, 36.0), front_curve_d=curve)
    front = true_from_marked(curve, 1.6)
    assert front + forwarded(body.back.along_d, body.centre_thickness_mm, 1.6) > sphere


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"index": 1.0}, "refractive index is 1.0"),
        ({"index": float("nan")}, "refractive index is nan"),
        ({"density_g_cm3": 0.0}, "density is 0.0 g/cm³"),
        ({"front_curve_d": 40.0}, "base curve is 40.0 D"),
        ({"min_centre_mm": 0.0}, "minimum centre thickness is 0.0 mm"),
        ({"min_edge_mm": -1.0}, "minimum edge thickness is -1.0 mm"),
        ({"prism_in": 90.0}, "prism is 90.0 Δ"),
        ({"reference_in_up_mm": (float("inf"), 0.0)}, "reference point is inf mm"),
        ({"centre_thickness_mm": 99.0}, "centre thickness is 99.0 mm"),
        ({"front_curve_d": 21.0}, "distance of the edge from the centre"),
    ],
)
def test_what_no_lens_can_have_is_refused_in_words(changed: dict[str, Any], words: str) -> None:
    with pytest.raises(OpticsError, match=words):
        made(SphereCylinder(-4.0), **changed)


def test_among_many_lenses_the_one_with_an_impossible_value_is_named() -> None:
    with pytest.raises(OpticsError, match=r"refractive index of lens 2 is 0\.5"):
        lens_bodies(
            PANTO,
            sphere=[-1.0, -1.0],
            cylinder=0.0,
            axis_deg=180.0,
            front_curve_d=5.0,
            **(MAKE | {"index": [1.6, 0.5]}),
        )


def test_shapes_of_unequal_fineness_cannot_be_worked_together() -> None:
    with pytest.raises(OpticsError, match="Resample the shapes"):
        lens_bodies(
            [PANTO, PANTO.resampled(100)], sphere=[-1.0, -1.0], cylinder=0.0, axis_deg=180.0, front_curve_d=5.0, **MAKE
        )


def test_a_plus_lens_too_strong_for_its_frame_is_refused() -> None:
    with pytest.raises(OpticsError, match=r"beyond reach|distance of the edge"):
        made(SphereCylinder(25.0), assumed_shape(70.0, 60.0), front_curve_d=8.0)
