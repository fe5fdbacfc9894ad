"""Topic 2 of the published cases: Prentice, meridional power, resultants, splitting, imbalance, image jump."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from dispensing.optics.conventions import Eye
from dispensing.optics.imbalance import VerticalImbalance, reverse_slab_off, slab_off, vertical_imbalance
from dispensing.optics.notation import parse_prescription_line
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import (
    Prism,
    binocular_prism,
    prism_at,
    prism_from_decentration,
    resultant,
    split_equally,
)
from tests.published.rows import PublishedCase, assert_reproduces, published, worked

SHORT = {"in": "BI", "out": "BO", "up": "BU", "down": "BD"}
Inputs = dict[str, Any]


def lens(inputs: Inputs) -> SphereCylinder:
    if "F" in inputs:
        return SphereCylinder(inputs["F"])
    return SphereCylinder(inputs["S"], inputs["C"], inputs["axis"])


def written_lens(text: str) -> SphereCylinder:
    line = parse_prescription_line(text)
    return SphereCylinder.written(line.sphere, line.cylinder, line.axis)


def written_prism(text: str) -> Prism:
    """`5 BU`, also with a plano before it."""
    line = parse_prescription_line(text if text.startswith("pl") else f"pl {text}")
    return resultant(Prism.from_base(part.amount, part.base) for part in line.prisms)


def short(prism: Prism) -> str:
    """Vertical part first, as the sources write it: `1.5 BU & 2 BI`."""
    return " & ".join(f"{amount:g} {SHORT[base]}" for amount, base in reversed(prism.written()))


def one_base(prism: Prism) -> dict[str, Any]:
    ((amount, base),) = prism.written()
    return {"prism": amount, "base": base}


def moved_centre(inputs: Inputs) -> dict[str, Any]:
    moves = {"moved out": (-1, 0), "below pupil": (0, -1)}
    across, up = moves[inputs["oc"]]
    mm = inputs["mm"]
    return one_base(prism_from_decentration(lens(inputs), across * mm, up * mm, "right"))


def looking_below(inputs: Inputs) -> dict[str, Any]:
    assert inputs["gaze"] == "below OC"
    return one_base(prism_at(lens(inputs), 0.0, -inputs["mm"], "right"))


def wrong_centre_distance(inputs: Inputs) -> dict[str, Any]:
    outwards = (inputs["oc_distance"] - inputs["pd"]) / 2.0
    # The oblique cylinder adds vertical prism; the question asks for the horizontal part.
    each = prism_from_decentration(lens(inputs), -outwards, 0.0, "right").in_pd
    return {"total_prism": abs(2.0 * each), "per_eye": abs(each), "base": "in" if each > 0 else "out"}


def size_of_prism(inputs: Inputs) -> dict[str, Any]:
    return {"prism": prism_at(lens(inputs), inputs["mm"], 0.0, "right").amount_pd}


def decentration(inputs: Inputs) -> dict[str, Any]:
    wanted = Prism.from_base(inputs["prism_each"], inputs["base"])
    a_millimetre_in = prism_from_decentration(lens(inputs), 1.0, 0.0, "right")
    assert a_millimetre_in.up_pd == pytest.approx(0.0)
    inwards = wanted.in_pd / a_millimetre_in.in_pd
    return {"decentre_mm": abs(inwards), "direction": "in" if inwards > 0 else "out"}


def decentration_size(inputs: Inputs) -> dict[str, Any]:
    return {"mm": abs(inputs["prism"] / prism_from_decentration(lens(inputs), 1.0, 0.0, "right").in_pd)}


def decentration_that_cannot_be(inputs: Inputs) -> dict[str, Any]:
    power = written_lens(inputs["rx"])
    moved = prism_from_decentration(power, 10.0, 0.0, "right")
    return {"power_180": power.power_along(180.0), "possible": abs(moved.in_pd) > 1e-9}


def handbook_components(inputs: Inputs) -> dict[str, Any]:
    """The handbook moves the centre out and up and counts base out and up positive, right eye."""
    prism = prism_from_decentration(lens(inputs), -10 * inputs["x_cm"], 10 * inputs["y_cm"], "right")
    return {"PH": -prism.in_pd, "PV": prism.up_pd}


def meridian(inputs: Inputs) -> dict[str, Any]:
    return {"power": lens(inputs).power_along(inputs["meridian"])}


def reading_imbalance(inputs: Inputs) -> dict[str, Any]:
    found = vertical_imbalance(written_lens(inputs["OD"]), written_lens(inputs["OS"]), inputs["reading_level_mm"])
    slab, reverse = slab_off(found), reverse_slab_off(found)
    assert slab is not None
    assert reverse is not None
    eyes = {"right": "OD", "left": "OS"}
    return {
        "imbalance": found.magnitude_pd,
        "slab": f"{slab.amount_pd:.1f} {SHORT[slab.base]} {eyes[slab.eye]}",
        "reverse_slab": f"{reverse.amount_pd:.1f} {SHORT[reverse.base]} {eyes[reverse.eye]}",
    }


def split(inputs: Inputs) -> dict[str, Any]:
    right, left = written_prism(inputs["OD"]), written_prism(inputs["OS"])
    shared_right, shared_left = split_equally(right, left)
    return {"total": abs(binocular_prism(right, left).up_pd), "OD": short(shared_right), "OS": short(shared_left)}


def total_of_pair(inputs: Inputs) -> dict[str, Any]:
    return {"total": short(binocular_prism(written_prism(inputs["OD"]), written_prism(inputs["OS"])))}


def resultant_of_two(inputs: Inputs) -> dict[str, Any]:
    eye: Eye = "left" if inputs["eye"] == "L" else "right"
    prism = resultant([Prism.from_base(inputs["down"], "down"), Prism.from_base(inputs["in_"], "in")])
    return {"prism": prism.amount_pd, "base": prism.base_deg(eye)}


def resultant_of_angles(inputs: Inputs) -> dict[str, Any]:
    assert inputs["eye"] == "R"
    prism = resultant(Prism.from_angle(amount, base, "right") for amount, base in inputs["components"])
    return {"prism": prism.amount_pd, "base": prism.base_deg("right")}


def angle_of_compound(inputs: Inputs) -> dict[str, Any]:
    return {"angle": Prism(inputs["horizontal"], inputs["vertical"]).base_deg("right")}


def adding_to_a_prism(inputs: Inputs) -> dict[str, Any]:
    assert inputs == {"eye": "R", "have": "2.5 BU&I @35", "add": "2 BI"}
    prism = Prism.from_angle(2.5, 35, "right") + Prism.from_base(2.0, "in")
    return {"V": prism.up_pd, "H": prism.in_pd, "prism": prism.amount_pd, "base": prism.base_deg("right")}


def components(inputs: Inputs) -> dict[str, Any]:
    prism = Prism.from_angle(inputs["prism"], inputs["base"], "right")
    return {"H": prism.in_pd, "V": prism.up_pd}


def jump(inputs: Inputs) -> dict[str, Any]:
    below = inputs["radius_mm"] if "radius_mm" in inputs else inputs["top_to_seg_oc_mm"]
    jump, base = image_jump(inputs["add"], below)
    return {"jump": jump, "base": base}


def image_jump(add_d: float, below_mm: float) -> tuple[float, str]:
    """The prism that sets in at the segment's edge, so far above the centre of the segment's own power."""
    ((amount, base),) = prism_at(SphereCylinder(add_d), 0.0, below_mm, "right").written()
    return amount, base


def prisms_of_a_pair(inputs: Inputs) -> dict[str, Any]:
    found = vertical_imbalance(SphereCylinder(*inputs["R"]), SphereCylinder(*inputs["L"]), inputs["drop_mm"])
    eyes = {"R": Prism(0.0, found.right_up_pd), "L": Prism(0.0, found.left_up_pd)}
    parts = {name: one_base(prism) for name, prism in eyes.items()}
    return {f"{eye}_{what}": part[what] for eye, part in parts.items() for what in ("prism", "base")} | {
        "difference": found.magnitude_pd,
        "difference_base": "down L" if found.signed_pd > 0 else "down R",
    }


def net_difference(inputs: Inputs) -> dict[str, Any]:
    found = VerticalImbalance(inputs["R_net_base_up"], inputs["L_net_base_up"])
    return {"difference": found.magnitude_pd, "base": "up R" if found.signed_pd > 0 else "up L"}


def below_the_centre(inputs: Inputs) -> dict[str, Any]:
    return one_base(prism_at(lens(inputs), 0.0, -inputs["mm_below_centre"], "right"))


def vertical_reach(inputs: Inputs) -> dict[str, Any]:
    power = SphereCylinder(inputs["F90"])
    return {"mm": inputs["vertical_prism_limit"] / abs(prism_at(power, 0.0, 1.0, "right").up_pd)}


def iso_prism_band(inputs: Inputs) -> dict[str, Any]:
    """The vertical prism is the same all along a straight band, square to where it grows fastest."""
    limit, power = inputs["vertical_prism_limit"], lens(inputs)
    # On the chart of the right eye 0° is towards the nose.
    sideways, upwards = prism_at(power, 1.0, 0.0, "right").up_pd, prism_at(power, 0.0, 1.0, "right").up_pd
    reach = {
        angle: limit / abs(sideways * math.cos(math.radians(angle)) + upwards * math.sin(math.radians(angle)))
        for angle in (inputs["axis"], inputs["axis"] + 90)
    }
    return {
        "half_band_mm": limit / math.hypot(sideways, upwards),
        "band_meridian": math.degrees(math.atan2(-sideways, upwards)) % 180.0,
        "along_axis_30_mm": reach[30],
        "along_120_mm": reach[120],
    }


COMPUTED: dict[str, Callable[[Inputs], dict[str, Any]]] = {
    "PR-02": moved_centre,
    "PR-03": moved_centre,
    "PR-04": looking_below,
    "PR-05": wrong_centre_distance,
    "PR-07": size_of_prism,
    "PR-08": decentration,
    "PR-10": decentration_size,
    "PR-14": decentration_that_cannot_be,
    "PR-15": handbook_components,
    "PR-16": size_of_prism,
    "SPLIT-01": split,
    "SPLIT-02": total_of_pair,
    "SPLIT-03": split,
    "RES-02": resultant_of_two,
    "RES-03": resultant_of_angles,
    "RES-04": angle_of_compound,
    "RES-06": adding_to_a_prism,
    "RES-07": components,
    "MER": meridian,
    "VI": reading_imbalance,
    "JUMP": jump,
    "HB-022": prisms_of_a_pair,
    "HB-026": net_difference,
    # Round segments of two sizes: the wanted difference is the jump of half the difference of their diameters.
    "HB-028": lambda i: {"diameter_difference_mm": 2.0 * i["difference"] / image_jump(i["add"], 1.0)[0]},
    "HB-029": below_the_centre,
    "HB-030": iso_prism_band,
    "HB-031": iso_prism_band,
    "HB-032": vertical_reach,
}


@published(worked(2))
def test_prism_comes_out_as_published(case: PublishedCase) -> None:
    compute = COMPUTED.get(case.id) or COMPUTED[case.id.split("-")[0]]
    assert_reproduces(case, compute(case.inputs))
