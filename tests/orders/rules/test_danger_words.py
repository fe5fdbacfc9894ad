"""What findings that can keep somebody from harm say: which eye, what was found, what is right, what to do."""

from __future__ import annotations

from typing import Any

import pytest

from dispensing.trade.light import transmittance_percent
from orders.documents.order_report import FindingPart
from orders.rules import check
from orders.rules.examples import Example

Changes = dict[str, Any]


def findings(rule: str, changes: Changes, null: tuple[str, ...] = ()) -> list[FindingPart]:
    """What the rule says of the clean order with these changes, ``prescription.right.sphere`` and the like."""
    nested: Changes = {}
    for path, value in changes.items():
        *parents, last = path.split(".")
        part = nested
        for name in parents:
            part = part.setdefault(name, {})
        part[last] = value
    example = Example(rule, "trips", "words", set=nested, null=null)
    report = check(example.order(), example.lens_catalogue())
    return [part for part in report.findings if part.rule == rule]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (120.0, "Test vertex 120 mm cannot be right: a lens sits 6 mm to 20 mm before the eye. 12 mm? "),
        (1.2, "Test vertex 1.2 mm cannot be right: a lens sits 6 mm to 20 mm before the eye. 12 mm? "),
        (0.0, "Test vertex 0 mm cannot be right: a lens sits 6 mm to 20 mm before the eye. Look at"),
        (25.0, "Test vertex 25 mm cannot be right: a lens sits 6 mm to 20 mm before the eye. Look at"),
    ],
)
def test_a_slip_of_the_test_vertex_is_named_and_never_carried(typed: float, said: str) -> None:
    strong = {"prescription.vertex_mm": typed, "prescription.right.sphere": -7.25}
    [found] = findings("vertex-band", strong)
    assert found.message.startswith(said)
    assert (found.level, found.eye, found.field) == ("ask", None, "prescription.vertex_mm")
    assert findings("vertex-effect", strong) == []


def test_a_slip_of_one_worn_vertex_leaves_the_other_eye_alone() -> None:
    strong = {"fitting.right.vertex_mm": 130.0, "prescription.right.sphere": -7.25}
    [found] = findings("vertex-band", strong)
    assert found.message.startswith("Right worn vertex 130 mm cannot be right")
    assert "13 mm? Measure it again" in found.message
    assert (found.eye, found.field) == ("right", "fitting.right.vertex_mm")
    assert findings("vertex-effect", strong) == []


def test_a_tint_darker_than_any_category_is_said_to_be() -> None:
    dark = {"lenses.right.treatments": ["tint-free"], "lenses.right.colour": "black 99 %", "patient.driver": False}
    [found] = findings("category-four", dark)
    assert "let 1 % of the light through" in found.message
    assert "Below 3 % they are darker than any category of tinted prescription lenses (ISO 8980-3)" in found.message
    assert found.message.endswith("Local rules and the licensed practitioner decide.")
    assert (found.level, found.field) == ("ask", "lenses.right.colour")


@pytest.mark.parametrize(("driver", "level"), [(True, "stop"), (None, "ask"), (False, "note")])
def test_category_four_is_judged_by_who_drives(driver: bool | None, level: str) -> None:
    dark = {"lenses.right.treatments": ["tint-free"], "lenses.right.colour": "brown 95 %", "patient.driver": driver}
    [found] = findings("category-four", dark)
    assert (found.level, found.found, found.limit) == (level, 5.0, 8.0)
    assert "they must not be worn to drive" in found.message
    assert "label them “not for driving”" in found.message.replace("Label", "label")


def test_another_pair_is_asked_about_once_and_only_where_nobody_asked() -> None:
    dark = {
        "lenses.right.treatments": ["tint-dark", "photo"],
        "lenses.right.design": "office",
        "lenses.right.colour": "brown",
        "lenses.left.design": "office",
    }
    spoken = {}
    for other in (None, False, True):
        changes = {**dark, "other_pair": other}
        rules = ("night-driving", "photochromic-driving", "office-lens")
        spoken[other] = [part.rule for rule in rules for part in findings(rule, changes) if part.field == "other_pair"]
    assert spoken == {None: ["night-driving"], False: ["office-lens"], True: []}
    [asked] = findings("night-driving", {**dark, "other_pair": None})
    assert "nobody asked whether the wearer, who drives, has another pair to drive with" in asked.message
    assert "only pair" not in asked.message


@pytest.mark.parametrize(
    ("stated", "colour", "left"),
    [
        ([], "brown 92 %", 8.0),
        ([], "grey, gradient 80 to 20 %, 82,5%", 17.5),
        ([0.15], "brown 85 %", 15.0),
        ([0.85], "grey 85 %", 85.0),
        ([0.15, 0.45], "grey", 6.75),
        ([], "grey 150 %", None),
        ([], "brown", None),
        ([], None, None),
    ],
)
def test_a_tint_in_words_counts_as_its_depth(stated: list[float], colour: str | None, left: float | None) -> None:
    assert transmittance_percent(stated, colour) == (left if left is None else pytest.approx(left))


def test_a_base_turned_round_is_told_with_both_bases() -> None:
    turned = {
        "prescription.right.prism": [{"amount": 2.0, "base": "out"}],
        "previous_prescription.right.prism": [{"amount": 2.0, "base": "in"}],
    }
    [found] = findings("large-change", turned)
    assert "the prism from 2 Δ base in to 2 Δ base out, 4 Δ apart" in found.message
    assert (found.eye, found.field) == ("right", "prescription.right.prism")


def test_an_acuity_that_fell_is_for_the_prescriber_first() -> None:
    [found] = findings("large-change", {"prescription.left.acuity": "CF", "previous_prescription.left.acuity": "6/6"})
    assert "The acuity of the left eye has fallen from 6/6 to CF" in found.message
    assert found.message.endswith("Local rules and the licensed practitioner decide.")
    assert (found.eye, found.field, found.limit) == ("left", "prescription.left.acuity", 0.2)


@pytest.mark.parametrize("country", ["DE", "US-TX", "us-tx"])
def test_british_law_stops_nobody_elsewhere(country: str) -> None:
    child = {"patient.born_on": "2010-11-26", "practice.country": country}
    found = findings("protected-patient", child)
    assert "stop" not in [part.level for part in found]
    [asked] = [part for part in found if part.level == "ask"]
    assert (
        f"The patient is 15 years old. We hold no law on who may supply protected people in {country[:2].upper()}."
        in (asked.message)
    )
    assert asked.message.endswith("Local rules and the licensed practitioner decide: confirm that they are kept.")


@pytest.mark.parametrize("country", ["GB", "uk"])
def test_british_law_stops_in_britain(country: str) -> None:
    [found] = findings("protected-patient", {"patient.born_on": "2010-11-26", "practice.country": country})
    assert (found.level, found.field) == ("stop", "patient.born_on")


def test_two_poor_eyes_are_not_one_good_eye() -> None:
    poor = {"prescription.right.acuity": "6/60", "prescription.left.acuity": "20/200"}
    found = findings("impact-need", poor)
    assert [part.eye for part in found] == ["right", "left"]
    assert all(part.message.startswith("The wearer sees little with both eyes, and") for part in found)


@pytest.mark.parametrize("rule", ["vertical-imbalance", "image-size"])
def test_no_binocular_advice_where_one_eye_does_not_see(rule: str) -> None:
    apart = {"prescription.left.sphere": -8.0}
    assert findings(rule, apart)
    assert findings(rule, {**apart, "lenses.left.instruction": "occluder"}) == []
    assert findings(rule, {**apart, "prescription.left.acuity": "CF"}) == []


def test_half_a_transposition_is_named_with_both_forms_of_the_last_prescription() -> None:
    then = {"sphere": 1.00, "cylinder": -2.00, "axis": 90}
    now = {"sphere": -1.00, "cylinder": -2.00, "axis": 180}
    [found] = findings("large-change", {"previous_prescription.right": then, "prescription.right": now})
    assert found.says == (
        "The right eye is written as −1.00/−2.00×180; last time it was +1.00/−2.00×90 or, in the other form, "
        "−1.00/+2.00×180: it may be half transposed."
    )
    assert found.advice.startswith("Read the paper again: which form is on it?")


def test_what_changed_most_is_where_the_finding_stands() -> None:
    gone = {"prescription.right.cylinder": -3.25, "previous_prescription.right.cylinder": -1.00}
    [found] = findings("large-change", gone)
    assert (found.field, found.found) == ("prescription.right.cylinder", 2.25)


def test_a_centre_with_its_point_gone_says_what_was_meant() -> None:
    [found] = findings("centre-minimum", {"lenses.left.centre_thickness_mm": 15.0})
    assert found.advice == "1.5 mm? Correct it, or leave it to the lab."
    assert (found.level, found.eye) == ("ask", "left")
    assert findings("centre-minimum", {"lenses.left.centre_thickness_mm": 6.0}) == []


def test_a_front_curve_that_no_front_has_wraps_nothing() -> None:
    [found] = findings("box-sane", {"frame.front_curve_d": 50.0})
    assert found.advice == "Read it again from the frame. 5?"
    assert found.field == "frame.front_curve_d"
    assert findings("wrap-base", {"frame.front_curve_d": 50.0}) == []
    assert findings("wrap-base", {"frame.front_curve_d": 8.0})


def test_of_two_poor_eyes_a_driver_is_told_of_the_standard_alone() -> None:
    lost = {"prescription.right.acuity": "NPL", "previous_prescription.right.acuity": "6/6"}
    [one] = findings("driving-sight", lost)
    assert (one.eye, one.found, one.limit) == ("right", "NPL", "6/6")
    assert "after losing the sight of one eye, a driver must first adapt to it" in one.message
    [two] = findings("driving-sight", {**lost, "prescription.left.acuity": "6/60"})
    assert (two.eye, two.found, two.limit) == (None, "6/60", "6/12")
    assert "in GB driving takes 6/12 with both eyes open and a number plate read at 20 m" in two.message


def test_a_country_whose_law_we_do_not_hold_is_said_to_be_one() -> None:
    poor = {"prescription.right.acuity": "6/18", "prescription.left.acuity": "6/18"}
    [found] = findings("driving-sight", {**poor, "practice.country": "JP"})
    assert "we hold no law of JP on the sight of drivers; 6/12 with both eyes open is the least" in found.message
    assert found.message.endswith("Local rules and the licensed practitioner decide.")


def test_no_slab_off_for_a_pair_for_one_distance() -> None:
    apart = {"prescription.left.sphere": -5.0}
    single = {"lenses.right.design": "single", "lenses.left.design": "single", "prescription.use": "distance"}
    [multifocal], [distance] = (
        findings("vertical-imbalance", apart),
        findings("vertical-imbalance", {**apart, **single}),
    )
    assert "slab-off" in multifocal.message
    assert "slab-off" not in distance.message + " ".join(distance.remedies)
    assert (multifocal.limit, distance.limit) == (1.0, 2.0)


@pytest.mark.parametrize(("lens", "more"), [("progressive", True), ("bifocal", False)])
def test_falls_are_spoken_of_as_the_studies_found_and_no_more(lens: str, more: bool) -> None:
    late = {
        "patient.born_on": "1944-06-01",
        "previous_prescription.use": "near",
        "lenses.right.design": lens,
        "lenses.left.design": lens,
    }
    [found] = findings("first-progressive-late", late)
    assert f"At the age of 82 these are the first multifocal lenses ({lens})." in found.message
    assert "fewer falls for those who were often out" in found.message
    assert "for those who seldom were it meant no fewer, and more outdoors" in found.message
    assert ("more often fell repeatedly than wearers of bifocals" in found.message) is more
    assert found.message.endswith("The licensed practitioner decides.")
