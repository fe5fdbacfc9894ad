"""The check as a whole: what is lifted, what a single-eye order leaves out, and that nothing is changed."""

from __future__ import annotations

import json
from typing import Any

import pytest

from orders.documents.lens_order import LensOrder, parse_order
from orders.documents.order_report import OrderReport
from orders.rules import PracticeLimits, check
from orders.rules.examples import clean_order, example_catalogue


def order_with(**parts: Any) -> LensOrder:
    """The clean order with whole top-level parts merged in."""
    document = json.loads(clean_order().model_dump_json(exclude_unset=True))
    for key, value in parts.items():
        document[key] = {**document[key], **value} if isinstance(value, dict) and document.get(key) else value
    return parse_order(json.dumps(document))


def too_small_a_blank(**parts: Any) -> LensOrder:
    lenses = json.loads(clean_order().lenses.model_dump_json(exclude_unset=True))
    lenses["right"]["blank_mm"] = 60
    return order_with(lenses=lenses, frame={"a_mm": 52.0, "ed_mm": 55.0}, **parts)


def report_on(order: LensOrder, **options: Any) -> OrderReport:
    return check(order, example_catalogue(), **options)


def lifting(
    rule: str = "blank-size", eye: str | None = "right", reason: str | None = "Edger tried it", by: str = "A. B."
) -> dict[str, Any]:
    return {"rule": rule, "eye": eye, "reason": reason, "by": by}


def stops_of(report: OrderReport) -> list[tuple[str, str | None]]:
    return [(f.rule, f.eye) for f in report.findings if f.level == "stop" and f.confirmed_by is None]


IN_RANGE_LIFT = lifting("in-range")


def test_a_stop_is_the_verdict_of_the_whole_order() -> None:
    assert report_on(too_small_a_blank()).verdict == "stop"


def test_a_lifted_stop_stays_in_the_report_with_who_and_why_and_no_longer_counts() -> None:
    report = report_on(too_small_a_blank(lifted=[lifting(), IN_RANGE_LIFT]))

    finding = next(f for f in report.findings if f.rule == "blank-size")
    assert (finding.level, finding.confirmed_by, finding.reason) == ("stop", "A. B.", "Edger tried it")
    assert report.verdict != "stop"


@pytest.mark.parametrize(
    "useless",
    [
        lifting(reason=None),
        lifting(reason="  "),
        lifting(by=""),
        lifting(eye="left"),
        lifting(eye=None),
        lifting(rule="minimum-height"),
    ],
)
def test_a_stop_lifted_without_name_or_reason_or_for_another_eye_or_rule_still_counts(useless: dict[str, Any]) -> None:
    report = report_on(too_small_a_blank(lifted=[useless, IN_RANGE_LIFT]))

    assert stops_of(report) == [("blank-size", "right")]
    assert report.verdict == "stop"


def test_a_stop_lifted_for_both_eyes_is_lifted_for_each() -> None:
    assert stops_of(report_on(too_small_a_blank(lifted=[lifting(eye="both"), IN_RANGE_LIFT]))) == []


def test_an_ask_is_confirmed_by_a_name_alone() -> None:
    changed = {"frame": {"a_mm": 54.0, "ed_mm": 57.0}, "fitting": {"binocular_pd_mm": None}}
    confirmed = [lifting("decentration", eye, None) for eye in ("right", "left")]

    assert report_on(order_with(**changed)).verdict == "ask"
    assert report_on(order_with(**changed, lifted=confirmed)).verdict == "clear"


def test_the_eye_without_a_lens_has_no_findings_about_its_lens() -> None:
    lenses = json.loads(clean_order().lenses.model_dump_json(exclude_unset=True))
    kept = {"material": "m160", "design": "progressive", "base_curve_d": 5.0, "treatments": ["ar"]}
    order = order_with(
        lenses={"right": lenses["right"], "left": None},
        fitting={"left": {"pd_mm": 50.0, "height_mm": 2.0}, "binocular_pd_mm": None},
        kept_lens={**kept, "centre_thickness_mm": 1.5},
    )

    report = report_on(order)
    assert [f.rule for f in report.findings if f.eye == "left"] == []
    assert report.computed.left.blank_needed_mm is None
    assert report.computed.right.blank_needed_mm is not None


def test_a_practice_tightens_a_limit_for_itself() -> None:
    tighter = PracticeLimits(values={"decentration": {"in_max_mm": 2.0}})

    assert report_on(clean_order()).verdict == "clear"
    report = report_on(clean_order(), practice_limits=tighter)
    assert [(f.rule, f.eye, f.limit) for f in report.findings] == [("decentration", "right", 2.0)]


def test_a_practice_silences_an_ask_but_never_a_stop() -> None:
    silent = PracticeLimits(silenced=frozenset({"decentration", "blank-size"}))

    assert report_on(order_with(frame={"a_mm": 54.0, "ed_mm": 57.0}), practice_limits=silent).verdict == "clear"
    assert ("blank-size", "right") in stops_of(report_on(too_small_a_blank(), practice_limits=silent))


def test_the_worst_findings_come_first() -> None:
    levels = [f.level for f in report_on(too_small_a_blank(fitting={"readings": 1})).findings]

    assert levels == sorted(levels, key=["stop", "ask", "note"].index)


def test_checking_changes_neither_order_nor_catalogue() -> None:
    order, catalogue = too_small_a_blank(), example_catalogue()
    before = order.model_dump_json(), catalogue.model_dump_json()

    check(order, catalogue, others=(order,))

    assert (order.model_dump_json(), catalogue.model_dump_json()) == before


def test_the_same_order_is_judged_the_same_twice() -> None:
    assert report_on(too_small_a_blank()) == report_on(too_small_a_blank())


def asked_about_the_decimal(now: float, then: float, name: str = "sphere") -> tuple[str, str]:
    """Advice and first remedy of the finding on the right eye."""
    eye = {"sphere": now} if name == "sphere" else {"sphere": -3.0, name: now}
    before = {"sphere": then} if name == "sphere" else {"sphere": -3.0, name: then}
    left = {"sphere": -3.0}
    order = order_with(
        prescription={"right": eye, "left": left},
        previous_prescription={"tested_on": "2024-06-01", "vertex_mm": 12.0, "right": before, "left": left},
    )
    (finding,) = (f for f in report_on(order).findings if f.rule == "decimal-slip")
    return finding.advice, finding.remedies[0]


@pytest.mark.parametrize(
    ("now", "then", "name", "meant"),
    [
        (-0.25, -2.75, "sphere", "−2.50"),
        (-32.5, -3.0, "sphere", "−3.25"),
        (-0.33, -3.0, "sphere", "−3.25"),
        (0.2, 2.0, "add", "+2.00"),
        (-0.1, -1.5, "cylinder", "−1.00"),
    ],
)
def test_a_slipped_decimal_is_put_back_to_a_power_that_can_be_written(
    now: float, then: float, name: str, meant: str
) -> None:
    advice, remedy = asked_about_the_decimal(now, then, name)
    assert advice == f"Was {meant} meant? Look at the written prescription again."
    assert remedy == f"Write {meant} if the decimal point slipped."


def test_the_same_power_in_the_other_cylinder_form_is_no_decimal_slip() -> None:
    left = {"sphere": -0.5, "cylinder": -2.25, "axis": 90}
    order = order_with(
        prescription={"right": {"sphere": -0.25, "cylinder": -2.25, "axis": 90}, "left": left},
        previous_prescription={
            "tested_on": "2024-06-01",
            "vertex_mm": 12.0,
            "right": {"sphere": -2.5, "cylinder": 2.25, "axis": 180},
            "left": left,
        },
    )
    assert "decimal-slip" not in {finding.rule for finding in report_on(order).findings}


@pytest.mark.parametrize(("now", "then"), [(-2.75, -0.25), (-3.25, -0.5), (-2.1, -21.25), (2.25, 22.25)])
def test_no_power_is_proposed_that_no_prescription_holds(now: float, then: float) -> None:
    advice, remedy = asked_about_the_decimal(now, then)
    assert advice == "Did a decimal point slip? Look at the written prescription again."
    assert remedy == "Write the power as prescribed if the decimal point slipped."


def test_a_slab_off_too_large_for_one_lens_is_proposed_on_both() -> None:
    report = report_on(order_with(prescription={"right": {"sphere": -9.0}, "left": {"sphere": -2.0}}))
    (finding,) = (f for f in report.findings if f.rule == "vertical-imbalance")
    assert finding.advice == (
        "Consider a slab-off of 3.5 Δ base up on the right lens and 3.5 Δ base down on the left lens."
    )


@pytest.mark.parametrize(("ordered", "guess"), [(15.0, "1.5 mm? Correct it"), (9.9, "Correct it")])
def test_a_tenth_of_a_thickness_is_only_guessed_if_the_material_allows_it(ordered: float, guess: str) -> None:
    lens = json.loads(clean_order().lenses.model_dump_json(exclude_unset=True))
    lens["right"]["centre_thickness_mm"] = ordered
    [found] = [f for f in report_on(order_with(lenses=lens)).findings if (f.rule, f.eye) == ("centre-minimum", "right")]
    assert found.advice.startswith(guess)
