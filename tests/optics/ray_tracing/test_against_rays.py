"""The optics core compared with real rays through the same lenses; the remaining differences are stated and explained,
quantity by quantity.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import asdict
from typing import Any

import numpy as np
import pytest

from dispensing.optics.conventions import nasal_sign
from dispensing.optics.prism import prism_at
from dispensing.optics.surface import sag, toric_back
from dispensing.optics.tilt import tilt_prism, worn_power
from dispensing.optics.traced_prism import traced_prism
from tests.optics.closing_tables import WORST_DIFFERENCE
from tests.optics.ray_tracing.reference_lenses import LENSES, TracedLens
from tests.optics.ray_tracing.worst_differences import Worst

Compare = Callable[[str, Iterable[Any], str, float, str], None]

BUNDLE = "the tracer's bundle is 0.04 mm wide, not infinitely thin"
DIGITS = "digits kept in the file"


@pytest.fixture
def compare(record_property: Callable[[str, object], None]) -> Compare:
    """Asserts that no difference is greater than allowed, and leaves the worst for the table after the run."""

    def of_quantity(quantity: str, differences: Iterable[Any], unit: str, allowed: float, why: str) -> None:
        worst = max(float(np.max(np.abs(d))) for d in differences)
        record_property(WORST_DIFFERENCE, asdict(Worst(quantity, worst, unit, allowed, why)))
        assert worst <= allowed, f"{quantity}: {worst} {unit}"

    return of_quantity


def test_the_reference_holds_a_few_hundred_lenses_of_every_kind() -> None:
    assert len(LENSES) == 300
    assert {lens.drawn["eye"] for lens in LENSES} == {"right", "left"}
    assert min(lens.power.mean_sphere for lens in LENSES) < -6.0
    assert max(lens.power.mean_sphere for lens in LENSES) > 4.0
    assert max(abs(lens.power.cylinder) for lens in LENSES) > 3.5


def test_back_vertex_power_of_a_thick_toric_lens_is_what_rays_find(compare: Compare) -> None:
    differences = (lens.power.matrix() - lens.matrix("centre_power") for lens in LENSES)
    compare("back vertex power", differences, "D", 5e-6, BUNDLE)


def test_a_toric_back_made_for_a_power_has_the_traced_radii(compare: Compare) -> None:
    def radii(lens: TracedLens) -> np.ndarray:
        back = toric_back(lens.power, lens.front_d, lens.drawn["thickness_mm"], lens.drawn["index"])
        along, across = back.curvatures
        drawn = lens.drawn["back_radius_along_mm"], lens.drawn["back_radius_across_mm"]
        return np.asarray(np.array([1.0 / along, 1.0 / across]) - drawn)

    compare("back radii for a given power", (radii(lens) for lens in LENSES), "mm", 1e-8, "rounding")


def test_the_toric_back_lies_where_off_centre_rays_meet_it(compare: Compare) -> None:
    def gap(lens: TracedLens) -> float:
        back = toric_back(lens.power, lens.front_d, lens.drawn["thickness_mm"], lens.drawn["index"])
        return float(float(back.sag_at(*lens.drawn["ray_exit_mm"])) - lens.drawn["back_sag_mm"])

    compare("sag of the toric back off the centre", (gap(lens) for lens in LENSES), "mm", 1e-9, DIGITS)


def test_the_front_lies_where_off_centre_rays_meet_it(compare: Compare) -> None:
    def gap(lens: TracedLens) -> float:
        distance_sq = lens.drawn["ray_x_mm"] ** 2 + lens.drawn["ray_y_mm"] ** 2
        return float(float(sag(lens.drawn["front_curve_d"] / 530.0, distance_sq)) - lens.drawn["front_sag_mm"])

    compare("sag of the front off the centre", (gap(lens) for lens in LENSES), "mm", 1e-9, DIGITS)


def test_the_power_felt_through_a_tilted_thick_lens_is_what_rays_find(compare: Compare) -> None:
    def gap(lens: TracedLens) -> np.ndarray:
        return worn_power(lens.power, **lens.position, **lens.body).matrix() - lens.matrix("worn_power")

    compare("oblique power, thick lens", (gap(lens) for lens in LENSES), "D", 1e-5, BUNDLE)


def test_the_thin_lens_model_of_a_tilted_lens_leaves_out_only_what_thickness_does(compare: Compare) -> None:
    def gap(lens: TracedLens) -> float:
        felt = worn_power(lens.power, **lens.position).matrix() - lens.matrix("worn_power")
        return float(np.abs(felt).max())

    gaps = [gap(lens) for lens in LENSES]
    why = "the thin model leaves out base curve and thickness (up to 7 mm here); median below 0.02 D"
    compare("oblique power, thin lens", gaps, "D", 0.3, why)
    assert float(np.median(gaps)) < 0.02


def test_the_prism_of_a_tilted_thick_lens_is_what_rays_find(compare: Compare) -> None:
    def gap(lens: TracedLens) -> np.ndarray:
        prism = tilt_prism(**lens.position, **lens.body)
        base = np.array([prism.in_pd * nasal_sign(lens.drawn["eye"]), prism.up_pd])
        return np.asarray(base - lens.drawn["worn_prism"])

    compare("prism at the reference point of a tilted lens", (gap(lens) for lens in LENSES), "Δ", 1e-9, DIGITS)


def test_the_prism_off_the_centre_is_what_rays_find(compare: Compare) -> None:
    def gap(lens: TracedLens) -> np.ndarray:
        thickness = lens.drawn["thickness_mm"]
        back = toric_back(lens.power, lens.front_d, thickness, lens.drawn["index"])
        place = lens.drawn["ray_x_mm"], lens.drawn["ray_y_mm"]
        found = traced_prism(back, lens.drawn["front_curve_d"] / 530.0, thickness, *place)
        return np.asarray(np.array(found) - lens.drawn["ray_prism"])

    compare("prism off the centre, by one ray", (gap(lens) for lens in LENSES), "Δ", 1e-8, DIGITS)


def _prentice_gap(lens: TracedLens) -> float:
    x, y = lens.drawn["ray_exit_mm"]
    sign = nasal_sign(lens.drawn["eye"])
    prism = prism_at(lens.power, x * sign, y, lens.drawn["eye"])
    return float(np.hypot(prism.in_pd * sign - lens.drawn["ray_prism"][0], prism.up_pd - lens.drawn["ray_prism"][1]))


@pytest.mark.parametrize(("nearer_than_mm", "allowed"), [(5.0, 0.02), (10.0, 0.4), (15.0, 1.5), (20.0, 2.6)])
def test_prentice_is_good_near_the_centre_and_errs_by_the_third_power_of_the_distance(
    compare: Compare, nearer_than_mm: float, allowed: float
) -> None:
    near = [lens for lens in LENSES if np.hypot(*lens.drawn["ray_exit_mm"]) < nearer_than_mm]
    why = "Prentice is paraxial: spherical aberration grows with the distance cubed"
    compare(f"prism by Prentice within {nearer_than_mm:g} mm", map(_prentice_gap, near), "Δ", allowed, why)
    for lens in near:
        assert _prentice_gap(lens) <= 6e-4 * np.hypot(*lens.drawn["ray_exit_mm"]) ** 3
