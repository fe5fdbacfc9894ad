"""Topic 4 of the published cases: tilt, face form and the optical-centre drop (the handbook's formulas)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from dispensing.optics.centration import mono_pd_in_lens_plane, optical_centre_drop
from dispensing.optics.power import SphereCylinder
from dispensing.optics.tilt import worn_power
from tests.optics.handbook import (
    centre_drop_rule,
    handbook_tilted_power,
    handbook_tilted_sphere,
    pd_lost_by_face_form,
    total_tilt,
    wrap_prism,
)
from tests.published.rows import PublishedCase, assert_reproduces, by_id, published, worked

Inputs = dict[str, Any]


def exam_form(inputs: Inputs) -> dict[str, Any]:
    sphere, cylinder = handbook_tilted_sphere(inputs["F"], inputs["panto_deg"], inputs["two_n"])
    plus = handbook_tilted_power(
        SphereCylinder(inputs["F"]),
        eye="right",
        index=1.5,
        pantoscopic_deg=inputs["panto_deg"],
        denominator=inputs["two_n"],
    ).in_plus_cylinder()
    assert (plus.sphere, plus.cylinder) == pytest.approx((sphere, cylinder))
    return {"sphere": sphere, "cyl": cylinder, "axis": plus.axis}


def original_sphere_factors(inputs: Inputs) -> dict[str, Any]:
    sphere, cylinder = handbook_tilted_sphere(inputs["F"], inputs["theta_deg"], cylinder_from="original_sphere")
    return {"sphere_factor": sphere / inputs["F"], "cyl_factor": cylinder / inputs["F"]}


def martin(inputs: Inputs) -> dict[str, Any]:
    worn = handbook_tilted_power(
        SphereCylinder(inputs["F"]), eye="right", index=inputs["n"], pantoscopic_deg=inputs["tilt_deg"]
    )
    return {"eff_sphere": worn.sphere, "eff_cyl": worn.cylinder}


def drop(inputs: Inputs) -> dict[str, Any]:
    tilt = inputs["tilt_deg"]
    return {"drop_rule": centre_drop_rule(tilt), "drop_exact": optical_centre_drop(tilt)}


def prism_of_a_wrap(inputs: Inputs) -> dict[str, Any]:
    given = (inputs["F1"], inputs["t_mm"], inputs["n"], inputs["wrap_deg"])
    return {"prism_sin": wrap_prism(*given), "prism_tan": wrap_prism(*given, "tangent")}


def both_tilts(inputs: Inputs) -> dict[str, Any]:
    tilt = total_tilt(inputs["panto"], inputs["wrap"])
    return {"effective_tilt": tilt.angle_deg, "tilt_meridian": tilt.meridian_deg}


COMPUTED: dict[str, Callable[[Inputs], dict[str, Any]]] = {
    "TL-01": exam_form,
    "TL-03": original_sphere_factors,
    "TL-04": lambda i: {"panto_deg": i["mrp_below_pupil_mm"] / centre_drop_rule(1.0)},
    "TL-06": lambda i: {"order_height_mm": i["mrp_height_mm"] - centre_drop_rule(i["panto_deg"])},
    "TL-07": lambda i: {"delta_mm": pd_lost_by_face_form(i["mono_pd"], i["face_form_deg"])},
    "TL-D2": drop,
    "TL-D4": drop,
    "TL-D5": drop,
    "TL-D6": drop,
    "TL-D7": drop,
    "TL-08": martin,
    "TL-09": martin,
    "TL-14": martin,
    "TL-16": prism_of_a_wrap,
    "TL-17": both_tilts,
    "TL-19": both_tilts,
    "HB-065": lambda i: {"centre_drop_mm": optical_centre_drop(i["tilt_deg"])},
}


@published(worked(4))
def test_tilt_comes_out_as_published(case: PublishedCase) -> None:
    assert_reproduces(case, COMPUTED[case.id](case.inputs))


@published(by_id("TL-08", "TL-09", "TL-14"))
def test_the_exact_worn_power_is_within_a_twentieth_of_a_dioptre_of_martin_at_wrap_angles(
    case: PublishedCase,
) -> None:
    felt = worn_power(
        SphereCylinder(case.inputs["F"]),
        eye="right",
        index=case.inputs["n"],
        pantoscopic_deg=case.inputs["tilt_deg"],
    )
    assert felt.sphere == pytest.approx(case.expected["eff_sphere"], abs=0.05)
    assert felt.cylinder == pytest.approx(case.expected["eff_cyl"], abs=0.05)
    assert felt.axis == 180.0


@published(by_id("TL-D2", "TL-D4", "TL-D5", "TL-D6", "TL-D7"))
def test_the_computed_centre_drop_is_within_a_twelfth_of_a_millimetre_for_two_degrees(
    case: PublishedCase,
) -> None:
    tilt = case.inputs["tilt_deg"]
    assert optical_centre_drop(tilt) == pytest.approx(case.expected["drop_rule"], rel=1.0 / 12.0)


@published(by_id("TL-07"))
def test_a_pd_laid_along_the_turned_lens_grows_by_what_it_loses_when_seen_square_to_it(case: PublishedCase) -> None:
    pd, angle = case.inputs["mono_pd"], case.inputs["face_form_deg"]
    assert mono_pd_in_lens_plane(pd, angle, 0.0) - pd == pytest.approx(case.expected["delta_mm"], abs=0.01)
