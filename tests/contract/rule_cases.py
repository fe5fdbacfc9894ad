"""For each rule, an order by the trade's wording that must trip it, and its near neighbour that must not.

Each row has the rule's id, its level, the eyes it names, what must trip it and what must not. The last two are changes
to the order of `documents`, with changes to the catalogue under ``catalogue``. This must never import the program.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from tests.contract.documents import ABSENT, Document

EACH = ("right", "left")
RIGHT, PAIR, NONE = ("right",), ("both",), (None,)


class RuleCase(NamedTuple):
    """One row of the table."""

    rule: str
    level: str
    eyes: tuple[str | None, ...]
    trips: Document
    passes: Document


NO_CYLINDER: Document = {"prescription.both.cylinder": None, "prescription.both.axis": None}
SINGLE_VISION: Document = {
    **NO_CYLINDER,
    "lenses.both.design": "sv",
    "lenses.both.corridor_mm": None,
    "prescription.both.add": None,
    "prescription.both.sphere": -2.0,
    "prescription.use": "distance",
    "fitting.both.height_mm": None,
}
BIFOCAL: Document = {
    "lenses.both.design": "d28",
    "lenses.both.corridor_mm": None,
    "fitting.both.height_mm": 16.0,
}
TRIFOCAL: Document = {**BIFOCAL, "lenses.both.design": "t28", "fitting.both.height_mm": 18.0}
OFFICE: Document = {"lenses.both.design": "office"}
CHILD: Document = {"patient.born_on": "2018-01-01"}
DRIVER: Document = {"patient.driver": True}
TINTED: Document = {"lenses.both.treatments": ["ar", "sun"], "lenses.both.colour": "grey 85 % solid"}
KEPT: Document = {
    "material": "m160",
    "design": "prog",
    "base_curve_d": 5.0,
    "treatments": ["hard", "ar"],
    "centre_thickness_mm": 1.5,
}


def last_time(right: Document | None = None, left: Document | None = None) -> Document:
    """The same prescription two years before, but for what changed."""
    eye = {"sphere": -3.25, "cylinder": -1.0, "axis": 170, "add": 2.0}
    other = {"sphere": -2.75, "cylinder": -0.5, "axis": 10, "add": 2.0}
    last = {"tested_on": "2024-06-01", "vertex_mm": 13.0, "right": {**eye, **(right or {})}}
    return {"previous_prescription": {**last, "left": {**other, **(left or {})}}}


def prism(amount: Any, base: str | None) -> list[Document]:
    """One prism."""
    return [{"amount": amount, "base": base}]


def in_catalogue(**changes: Any) -> Document:
    """Changes to the catalogue, dots written as double underscores."""
    return {"catalogue": {path.replace("__", "."): value for path, value in changes.items()}}


R, L, B = "prescription.right.", "prescription.left.", "prescription.both."

CASES = [
    # Identity, law, validity
    RuleCase(
        "prescription-in-date",
        "stop",
        NONE,
        {"prescription.tested_on": "2024-11-24", "prescription.expires_on": None},
        {"prescription.tested_on": "2024-11-25", "prescription.expires_on": None},
    ),
    RuleCase(
        "prescription-in-date",
        "stop",
        NONE,
        {"prescription.expires_on": "2026-11-24"},
        {"prescription.expires_on": "2026-11-25"},
    ),
    RuleCase(
        "prescription-in-date",
        "stop",
        NONE,
        {"practice.country": "US", "prescription.expires_on": "2026-11-24"},
        {"practice.country": "US", "prescription.expires_on": None, "prescription.tested_on": None},
    ),
    RuleCase("prescriber-and-signature", "stop", NONE, {"prescription.signed": False}, {"prescription.signed": ABSENT}),
    RuleCase("prescriber-and-signature", "stop", NONE, {"prescription.prescriber": None}, {}),
    RuleCase("protected-patient", "stop", NONE, {"patient.born_on": "2010-11-26"}, {"patient.born_on": "2010-11-25"}),
    RuleCase("protected-patient", "stop", NONE, {"patient.protected": True}, {"patient.protected": None}),
    RuleCase(
        "dates-make-sense",
        "stop",
        NONE,
        {"prescription.tested_on": "2026-11-26"},
        {"prescription.tested_on": "2026-11-25"},
    ),
    RuleCase(
        "copied-prescription",
        "ask",
        NONE,
        {"prescription.source": "copied by focimeter"},
        {"prescription.source": "written"},
    ),
    RuleCase(
        "purpose-stated",
        "stop",
        EACH,
        {**SINGLE_VISION, B + "add": 2.0, "prescription.use": "distance_and_near"},
        {**SINGLE_VISION, B + "add": 2.0, "prescription.use": "near"},
    ),
    # Prescription plausibility
    RuleCase("power-step-and-range", "stop", RIGHT, {R + "sphere": -3.3}, {R + "sphere": -3.5}),
    RuleCase("power-step-and-range", "ask", RIGHT, {R + "sphere": -3.12}, {R + "sphere": -3.0}),
    RuleCase("power-step-and-range", "stop", RIGHT, {R + "sphere": 20.25}, {R + "sphere": 20.0}),
    RuleCase("power-step-and-range", "stop", RIGHT, {R + "cylinder": -6.25}, {R + "cylinder": -6.0}),
    RuleCase("cylinder-axis-pair", "stop", RIGHT, {R + "axis": None}, {R + "axis": None, R + "cylinder": 0.0}),
    RuleCase("cylinder-axis-pair", "stop", RIGHT, {R + "axis": 0}, {R + "axis": 180}),
    RuleCase("cylinder-axis-pair", "stop", RIGHT, {R + "axis": 12.5}, {R + "axis": 1}),
    RuleCase("cylinder-axis-pair", "stop", RIGHT, {R + "axis": 181}, {}),
    RuleCase("cylinder-axis-pair", "ask", RIGHT, {R + "cylinder": None}, NO_CYLINDER),
    RuleCase("cylinder-axis-pair", "ask", RIGHT, {R + "cylinder": 0.0}, {}),
    RuleCase("sphere-blank", "stop", RIGHT, {R + "sphere": ABSENT}, {R + "sphere": 0.0}),
    RuleCase("cylinder-sign-mixed", "stop", PAIR, {R + "cylinder": 1.0}, {R + "cylinder": 1.0, L + "cylinder": 0.5}),
    RuleCase("sign-change", "ask", PAIR, {R + "sphere": 1.25}, {R + "sphere": 0.0}),
    RuleCase("sign-change", "ask", RIGHT, last_time({"sphere": 3.25}), last_time()),
    RuleCase(
        "decimal-slip", "ask", RIGHT, {R + "sphere": -0.25, **last_time({"sphere": -2.5})}, last_time({"sphere": -3.0})
    ),
    RuleCase(
        "decimal-slip",
        "ask",
        PAIR,
        {R + "sphere": -2.5, L + "sphere": -0.25},
        {R + "sphere": -2.5, L + "sphere": -0.5},
    ),
    RuleCase(
        "vertex-effect",
        "stop",
        EACH,
        {**NO_CYLINDER, B + "sphere": -5.0, "prescription.vertex_mm": None},
        {**NO_CYLINDER, B + "sphere": -4.75, "prescription.vertex_mm": None},
    ),
    RuleCase(
        "vertex-effect",
        "ask",
        EACH,
        {**NO_CYLINDER, B + "sphere": -8.0, "prescription.vertex_mm": 11.0},
        {**NO_CYLINDER, B + "sphere": -7.5, "prescription.vertex_mm": 11.0},
    ),
    RuleCase("axis-slip", "ask", RIGHT, last_time({"axis": 159}), last_time({"axis": 160})),
    RuleCase("axis-slip", "ask", RIGHT, last_time({"axis": 80}), {**last_time({"axis": 178}), R + "axis": 2}),
    RuleCase(
        "eyes-exchanged",
        "ask",
        PAIR,
        last_time({"sphere": -2.75, "cylinder": -0.5, "axis": 10}, {"sphere": -3.25, "cylinder": -1.0, "axis": 170}),
        last_time(),
    ),
    RuleCase(
        "eyes-identical",
        "ask",
        PAIR,
        {B.rstrip("."): {"sphere": -3.0, "cylinder": -0.5, "axis": 20, "add": 2.0}},
        {B.rstrip("."): {"sphere": -3.0, "cylinder": -0.25, "axis": 20, "add": 2.0}},
    ),
    RuleCase("large-change", "ask", RIGHT, last_time({"sphere": -2.5}), last_time({"sphere": -2.75})),
    RuleCase("large-change", "ask", RIGHT, last_time({"cylinder": -0.5}), last_time({"cylinder": -0.75})),
    RuleCase("add-presence", "stop", EACH, {B + "add": None}, {}),
    RuleCase("add-presence", "stop", RIGHT, {**BIFOCAL, R + "add": 0}, BIFOCAL),
    RuleCase(
        "add-presence",
        "stop",
        EACH,
        {**SINGLE_VISION, B + "add": 2.0, "prescription.use": None},
        {**SINGLE_VISION, "prescription.use": None},
    ),
    RuleCase("add-range", "stop", EACH, {B + "add": 0.25}, {B + "add": 0.5}),
    RuleCase("add-range", "stop", EACH, {B + "add": 4.25}, {B + "add": 4.0}),
    RuleCase("add-range", "stop", EACH, {B + "add": 2.1}, {B + "add": 2.25}),
    RuleCase("add-for-age", "ask", PAIR, {B + "add": 3.0}, {B + "add": 2.75}),
    RuleCase("add-for-age", "ask", PAIR, {"patient.born_on": "1996-01-01"}, {"patient.born_on": None, B + "add": 3.0}),
    RuleCase("adds-unequal", "ask", PAIR, {L + "add": 2.25}, {}),
    RuleCase("intermediate-add", "ask", EACH, {B + "intermediate_add": 2.0}, {B + "intermediate_add": 1.0}),
    RuleCase("prism-base-pair", "stop", RIGHT, {R + "prism": prism(1.0, None)}, {R + "prism": prism(1.0, "in")}),
    RuleCase("prism-base-pair", "stop", RIGHT, {R + "prism": prism(None, "in")}, {R + "prism": []}),
    RuleCase(
        "prism-sense",
        "ask",
        PAIR,
        {B + "prism": prism(1.0, "up")},
        {R + "prism": prism(1.0, "up"), L + "prism": prism(1.0, "down")},
    ),
    RuleCase(
        "prism-sense",
        "ask",
        PAIR,
        {R + "prism": prism(1.0, "in"), L + "prism": prism(1.0, "out")},
        {B + "prism": prism(1.0, "out")},
    ),
    RuleCase("prism-size", "ask", EACH, {B + "prism": prism(4.25, "in")}, {B + "prism": prism(4.0, "in")}),
    RuleCase("prism-split", "ask", RIGHT, {R + "prism": prism(3.25, "in")}, {R + "prism": prism(3.0, "in")}),
    RuleCase("low-acuity-eye", "ask", RIGHT, {R + "acuity": "6/60"}, {R + "acuity": "6/36"}),
    # Measurements
    RuleCase("monocular-pd-needed", "stop", EACH, {"fitting.both.pd_mm": None}, {}),
    RuleCase(
        "monocular-pd-needed",
        "stop",
        EACH,
        {**SINGLE_VISION, B + "sphere": -4.0, "fitting.both.pd_mm": None},
        {**SINGLE_VISION, "fitting.both.pd_mm": ABSENT},
    ),
    RuleCase("pd-sum", "stop", PAIR, {"fitting.binocular_pd_mm": 65.0}, {"fitting.binocular_pd_mm": 64.9}),
    RuleCase("pd-sum", "stop", PAIR, {"fitting.binocular_pd_mm": 63.0}, {"fitting.binocular_pd_mm": None}),
    RuleCase("pd-range", "ask", PAIR, {"fitting.both.pd_mm": 26.9}, {"fitting.both.pd_mm": 27.0}),
    RuleCase("pd-range", "ask", PAIR, {"fitting.both.pd_mm": 40.0}, {"fitting.both.pd_mm": 37.0}),
    RuleCase("pd-range", "stop", PAIR, {"fitting.both.pd_mm": 23.9}, {**CHILD, "fitting.both.pd_mm": 25.0}),
    RuleCase("pd-range", "stop", PAIR, {"fitting.both.pd_mm": 40.1}, {}),
    RuleCase("pd-range", "ask", PAIR, {**CHILD, "fitting.both.pd_mm": 30.5}, {**CHILD, "fitting.both.pd_mm": 30.0}),
    RuleCase(
        "pd-asymmetry",
        "ask",
        PAIR,
        {"fitting.right.pd_mm": 30.9, "fitting.left.pd_mm": 33.0},
        {"fitting.right.pd_mm": 31.0, "fitting.left.pd_mm": 33.0},
    ),
    RuleCase("near-pd", "stop", RIGHT, {"fitting.right.near_pd_mm": 31.8}, {"fitting.right.near_pd_mm": 30.0}),
    RuleCase(
        "near-pd",
        "ask",
        PAIR,
        {"fitting.right.near_pd_mm": 28.9, "fitting.left.near_pd_mm": 29.3},
        {"fitting.right.near_pd_mm": 28.9, "fitting.left.near_pd_mm": 29.4},
    ),
    RuleCase("height-needed", "stop", EACH, {"fitting.both.height_mm": None}, SINGLE_VISION),
    RuleCase("height-needed", "stop", RIGHT, {**BIFOCAL, "fitting.right.height_mm": ABSENT}, BIFOCAL),
    RuleCase(
        "height-needed", "ask", EACH, {**SINGLE_VISION, B + "sphere": -4.0}, {**SINGLE_VISION, B + "sphere": -3.75}
    ),
    RuleCase("height-inside-frame", "stop", RIGHT, {"fitting.right.height_mm": 0.0}, {}),
    RuleCase("height-inside-frame", "stop", RIGHT, {"fitting.right.height_mm": 38.0}, {}),
    RuleCase("height-inside-frame", "ask", EACH, {"fitting.both.height_mm": 30.1}, {"fitting.both.height_mm": 30.0}),
    RuleCase("height-inside-frame", "ask", EACH, {"fitting.both.height_mm": 17.9}, {"fitting.both.height_mm": 18.0}),
    RuleCase("heights-differ", "ask", PAIR, {"fitting.right.height_mm": 23.0}, {"fitting.right.height_mm": 22.9}),
    RuleCase("two-readings", "ask", NONE, {"fitting.readings": 1}, {"fitting.readings": None}),
    RuleCase("two-readings", "ask", NONE, {"fitting.readings": 1}, {**SINGLE_VISION, "fitting.readings": 1}),
    RuleCase(
        "measured-in-this-frame",
        "stop",
        NONE,
        {"fitting.measured_in_this_frame": False},
        {"fitting.measured_in_this_frame": ABSENT},
    ),
    RuleCase("frame-pre-adjusted", "ask", NONE, {"fitting.pre_adjusted": False}, {"fitting.pre_adjusted": ABSENT}),
    RuleCase("vertex-band", "ask", EACH, {"fitting.both.vertex_mm": 11.9}, {"fitting.both.vertex_mm": 12.0}),
    RuleCase("vertex-band", "ask", EACH, {"fitting.both.vertex_mm": 18.5}, {"fitting.both.vertex_mm": 15.0}),
    RuleCase("pantoscopic-band", "ask", NONE, {"fitting.pantoscopic_deg": -0.5}, {"fitting.pantoscopic_deg": 0.0}),
    RuleCase("pantoscopic-band", "ask", NONE, {"fitting.pantoscopic_deg": 18.5}, {"fitting.pantoscopic_deg": 18.0}),
    RuleCase("face-form-band", "ask", NONE, {"fitting.face_form_deg": 25.5}, {"fitting.face_form_deg": 25.0}),
    RuleCase(
        "as-worn-set", "stop", NONE, {"fitting.pantoscopic_deg": None}, {**BIFOCAL, "fitting.pantoscopic_deg": None}
    ),
    RuleCase(
        "as-worn-set", "stop", NONE, {"fitting.face_form_deg": ABSENT}, {**BIFOCAL, "fitting.face_form_deg": None}
    ),
    RuleCase("as-worn-set", "stop", RIGHT, {"fitting.right.vertex_mm": None}, {}),
    # Frame, fitting, cut-out
    RuleCase("box-complete", "stop", NONE, {"frame.a_mm": None}, {"frame.ed_mm": None}),
    RuleCase("box-complete", "stop", NONE, {"frame.b_mm": ABSENT, "supply": "uncut"}, {"supply": "uncut"}),
    RuleCase("box-complete", "stop", NONE, {"frame.dbl_mm": None, "supply": "edged"}, {"frame.shape": None}),
    RuleCase("box-complete", "stop", NONE, {"frame.ed_mm": None, "frame.shape": None}, {}),
    RuleCase("box-sane", "stop", NONE, {"frame.ed_mm": 51.9}, {"frame.ed_mm": 52.0}),
    RuleCase("box-sane", "stop", NONE, {"frame.ed_mm": 64.5}, {"frame.ed_mm": 64.4}),
    RuleCase("box-sane", "ask", NONE, {"frame.dbl_mm": 26.5}, {"frame.dbl_mm": 26.0}),
    RuleCase(
        "box-sane",
        "ask",
        NONE,
        {"frame.a_mm": 71.0, "frame.ed_mm": 72.0, "frame.shape": None},
        {"frame.a_mm": 70.0, "frame.ed_mm": 72.0, "frame.shape": None},
    ),
    RuleCase("shape-agrees", "ask", NONE, {"frame.a_mm": 52.6}, {"frame.a_mm": 52.5}),
    RuleCase("shape-agrees", "ask", NONE, {"frame.b_mm": 37.4}, {"frame.b_mm": 37.5}),
    RuleCase("decentration", "ask", RIGHT, {"fitting.right.pd_mm": 30.9}, {"fitting.right.pd_mm": 31.0}),
    RuleCase("decentration", "ask", RIGHT, {"fitting.right.pd_mm": 35.1}, {"fitting.right.pd_mm": 35.0}),
    RuleCase("blank-size", "stop", EACH, {"lenses.both.blank_mm": 60}, {"lenses.both.blank_mm": None}),
    RuleCase(
        "minimum-height",
        "stop",
        EACH,
        {"lenses.both.corridor_mm": 14, **in_catalogue(designs__0__corridors__0__min_height_mm=22)},
        {"lenses.both.corridor_mm": 14, **in_catalogue(designs__0__corridors__0__min_height_mm=21.6)},
    ),
    RuleCase(
        "corridor-fits",
        "stop",
        EACH,
        {"lenses.both.corridor_mm": 14, "fitting.both.height_mm": 17.9},
        {"lenses.both.corridor_mm": 14, "fitting.both.height_mm": 18.0},
    ),
    RuleCase(
        "reading-area-cut",
        "stop",
        EACH,
        {"lenses.both.corridor_mm": 14, **in_catalogue(designs__0__near_zone_radius_mm=9.0)},
        {"lenses.both.corridor_mm": 14, **in_catalogue(designs__0__near_zone_radius_mm=None)},
    ),
    RuleCase(
        "reading-area-cut",
        "ask",
        EACH,
        {"lenses.both.corridor_mm": 14, "fitting.both.height_mm": 18.5},
        {"lenses.both.corridor_mm": 11, "fitting.both.height_mm": 21.0},
    ),
    RuleCase("clearance-above", "ask", EACH, {"fitting.both.height_mm": 27.0}, {"fitting.both.height_mm": 26.0}),
    RuleCase(
        "clearance-above",
        "ask",
        EACH,
        {"fitting.both.height_mm": 29.0, **in_catalogue(designs__0__clearance_above_mm=None)},
        {"fitting.both.height_mm": 28.0, **in_catalogue(designs__0__clearance_above_mm=None)},
    ),
    RuleCase(
        "frame-depth",
        "ask",
        NONE,
        {"frame.b_mm": 24.9, "frame.shape": None, "fitting.both.height_mm": 16.0},
        {"frame.b_mm": 25.0, "frame.shape": None, "fitting.both.height_mm": 16.0},
    ),
    RuleCase("bifocal-height", "ask", EACH, {**BIFOCAL, "fitting.both.height_mm": 11.9}, BIFOCAL),
    RuleCase("bifocal-height", "ask", EACH, {**BIFOCAL, "fitting.both.height_mm": 16.1}, BIFOCAL),
    RuleCase("trifocal-height", "ask", EACH, {**TRIFOCAL, "fitting.both.height_mm": 16.0}, TRIFOCAL),
    RuleCase("office-lens", "stop", NONE, {**OFFICE, "fitting.near_distance_mm": None}, OFFICE),
    RuleCase("office-lens", "ask", NONE, {**OFFICE, **DRIVER}, {**OFFICE, **DRIVER, "other_pair": True}),
    RuleCase("own-frame", "ask", NONE, {"frame.source": "own"}, {"frame.source": "enclosed"}),
    RuleCase(
        "frame-route", "stop", NONE, {"frame.source": "trace_only"}, {"frame.source": "trace_only", "supply": "edged"}
    ),
    # Lens power, thickness, material
    RuleCase(
        "edge-thick",
        "ask",
        EACH,
        {**NO_CYLINDER, B + "sphere": -6.0, "frame.mount": "drilled"},
        {**NO_CYLINDER, B + "sphere": -6.0},
    ),
    RuleCase("edge-thick", "ask", EACH, {B + "sphere": -9.75, "lenses.both.material": "m150"}, {}),
    RuleCase(
        "edge-minimum",
        "stop",
        EACH,
        {**SINGLE_VISION, B + "sphere": 3.0, "lenses.both.centre_thickness_mm": 3.0},
        {**SINGLE_VISION, B + "sphere": 3.0, "lenses.both.centre_thickness_mm": 4.0},
    ),
    RuleCase(
        "edge-minimum",
        "stop",
        EACH,
        {**SINGLE_VISION, B + "sphere": 3.0, "lenses.both.centre_thickness_mm": 3.6, "frame.mount": "drilled"},
        {**SINGLE_VISION, B + "sphere": 3.0, "frame.mount": "drilled"},
    ),
    RuleCase(
        "drill-material",
        "stop",
        EACH,
        {"frame.mount": "drilled", "lenses.both.material": "m150"},
        {"frame.mount": "full_rim", "lenses.both.material": "m150"},
    ),
    RuleCase(
        "centre-minimum",
        "stop",
        EACH,
        {"lenses.both.centre_thickness_mm": 1.4},
        {"lenses.both.centre_thickness_mm": 1.5},
    ),
    RuleCase("impact-need", "ask", EACH, {"patient.born_on": "2008-11-26"}, {"patient.born_on": "2008-11-25"}),
    RuleCase(
        "impact-need", "ask", EACH, {L + "acuity": "6/60"}, {L + "acuity": "6/60", "lenses.both.material": "pc159"}
    ),
    RuleCase(
        "low-abbe",
        "ask",
        EACH,
        {**NO_CYLINDER, "lenses.both.material": "pc159", B + "sphere": -5.25},
        {**NO_CYLINDER, "lenses.both.material": "pc159", B + "sphere": -5.0},
    ),
    RuleCase("low-abbe", "ask", EACH, {"lenses.both.material": "pc159", B + "prism": prism(3.25, "in")}, {}),
    RuleCase("pair-match", "ask", PAIR, {"lenses.left.material": "m150"}, {"lenses.left.treatments": ["ar", "hard"]}),
    RuleCase("pair-match", "ask", PAIR, {"lenses.left.treatments": ["hard"]}, {}),
    RuleCase("base-curve-match", "ask", PAIR, {"lenses.left.base_curve_d": 3.9}, {"lenses.left.base_curve_d": 4.0}),
    RuleCase(
        "wrap-base",
        "stop",
        EACH,
        {"frame.front_curve_d": 8.0},
        {"frame.front_curve_d": 8.0, "lenses.both.base_curve_d": 7.0},
    ),
    RuleCase(
        "wrap-range",
        "ask",
        EACH,
        {**NO_CYLINDER, "frame.front_curve_d": 8.0, B + "sphere": -4.25},
        {**NO_CYLINDER, "frame.front_curve_d": 8.0, B + "sphere": -4.0},
    ),
    RuleCase(
        "wrap-compensation",
        "stop",
        EACH,
        {"fitting.face_form_deg": 10.5, **in_catalogue(designs__0__compensated=False)},
        {"fitting.face_form_deg": 10.5},
    ),
    RuleCase("in-range", "stop", EACH, {**NO_CYLINDER, B + "sphere": -10.25}, {**NO_CYLINDER, B + "sphere": -10.0}),
    RuleCase("in-range", "stop", EACH, {B + "add": 3.75}, {B + "add": 3.5}),
    RuleCase("in-range", "stop", EACH, {"lenses.both.blank_mm": 70}, {"lenses.both.blank_mm": 65}),
    RuleCase("in-range", "stop", EACH, {"lenses.both.corridor_mm": 12}, {"lenses.both.corridor_mm": 14}),
    RuleCase("in-range", "stop", EACH, {"lenses.both.design": "none"}, {}),
    RuleCase("in-range", "stop", RIGHT, {"lenses.right.material": "none"}, {}),
    RuleCase(
        "in-range",
        "stop",
        EACH,
        {"lenses.both.treatments": ["ar", "photo"], "lenses.both.material": "m150"},
        {"lenses.both.treatments": ["ar", "photo"]},
    ),
    RuleCase("kept-lens", "stop", RIGHT, {"lenses.left": None}, {"lenses.left": None, "kept_lens": KEPT}),
    # Binocular balance
    RuleCase(
        "vertical-imbalance",
        "ask",
        PAIR,
        {**NO_CYLINDER, B + "sphere": -2.0, R + "sphere": -3.0},
        {**NO_CYLINDER, B + "sphere": -2.0, R + "sphere": -2.75},
    ),
    RuleCase("image-size", "ask", PAIR, {R + "sphere": -5.5, B + "cylinder": None, B + "axis": None}, {}),
    RuleCase(
        "prism-in-progressive",
        "ask",
        RIGHT,
        {R + "prism": prism(1.0, "in")},
        {**BIFOCAL, R + "prism": prism(1.0, "in")},
    ),
    RuleCase("progressive-pair", "stop", PAIR, {"lenses.left.corridor_mm": 14}, {}),
    # Treatments and use
    RuleCase("night-driving", "ask", PAIR, {**TINTED, **DRIVER}, {**TINTED, **DRIVER, "other_pair": True}),
    RuleCase(
        "night-driving",
        "ask",
        PAIR,
        {**TINTED, **DRIVER, **in_catalogue(treatments__2__luminous_transmittance=0.74)},
        {**TINTED, **DRIVER, **in_catalogue(treatments__2__luminous_transmittance=0.8)},
    ),
    RuleCase("night-driving", "ask", PAIR, {**TINTED, **DRIVER}, {**TINTED, "patient.driver": None}),
    RuleCase(
        "category-four",
        "stop",
        PAIR,
        {**TINTED, **DRIVER, "lenses.both.treatments": ["ar", "dark"]},
        {**TINTED, **DRIVER, "lenses.both.treatments": ["ar", "sun"]},
    ),
    RuleCase(
        "category-four",
        "note",
        PAIR,
        {**TINTED, "patient.driver": False, "lenses.both.treatments": ["ar", "dark"]},
        {**TINTED, "patient.driver": False, "lenses.both.treatments": ["ar", "sun"]},
    ),
    RuleCase(
        "photochromic-driving",
        "ask",
        PAIR,
        {**DRIVER, "lenses.both.treatments": ["ar", "photo"]},
        {**DRIVER, "other_pair": True, "lenses.both.treatments": ["ar", "photo"]},
    ),
    RuleCase(
        "treatments-together",
        "stop",
        EACH,
        {"lenses.both.treatments": ["ar", "mirror", "pol"]},
        {"lenses.both.treatments": ["mirror", "pol"]},
    ),
    RuleCase(
        "treatments-together",
        "stop",
        EACH,
        {
            "lenses.both.treatments": ["ar", "mirror", "pol"],
            **in_catalogue(treatments__1__excludes=["mirror"], treatments__4__excludes=[]),
        },
        {"lenses.both.treatments": ["ar", "mirror", "pol"], **in_catalogue(treatments__4__excludes=[])},
    ),
    RuleCase("tint-stated", "stop", EACH, {**TINTED, "lenses.both.colour": None}, TINTED),
    # Order handling
    RuleCase("promise-date", "ask", NONE, {"needed_on": "2026-11-27"}, {"needed_on": None}),
    RuleCase("remake-reference", "stop", NONE, {"purpose": "remake"}, {"purpose": "remake", "remake_of": "C-0"}),
    RuleCase("account-and-names", "stop", NONE, {"practice.account": None}, {}),
]
