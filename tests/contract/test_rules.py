"""Each rule trips where the trade says so, at the contract's level and eye, and not just beside: see `rule_cases`."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.contract.documents import Document, a_catalogue, an_order, changed, check_one
from tests.contract.rule_cases import CASES, RuleCase

LEVELS = ["clear", "note", "ask", "stop"]

MEASURE = "Measure both eyes again, each from the middle of the bridge."
SMALLER = "Check PD, A and DBL; if they are right, a smaller lens or a narrower bridge suits better."
DEEPER = "Check the height, or choose a deeper frame."
SLAB = "Consider a slab-off of 2 Δ base up on the right lens."
TYPE_AGAIN = "Look at the written prescription and type the power again."


def report_on(changes: Document, folder: Path) -> Document:
    """The report of the usual order with these changes."""
    to_order = {path: value for path, value in changes.items() if path != "catalogue"}
    order = changed(an_order(), to_order)
    return check_one(folder, order, changed(a_catalogue(), changes.get("catalogue", {})))


def test_an_order_that_nothing_is_wrong_with_is_clear(tmp_path: Path) -> None:
    report = report_on({}, tmp_path)

    assert (report["verdict"], report["findings"], report["shape"]) == ("clear", [], "given")


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.rule)
def test_a_rule_trips_at_its_level_and_names_the_eye(case: RuleCase, tmp_path: Path) -> None:
    report = report_on(case.trips, tmp_path)
    found = [finding for finding in report["findings"] if finding["rule"] == case.rule]

    assert [(f["level"], f["eye"]) for f in found] == [(case.level, eye) for eye in case.eyes]
    for finding in found:
        assert finding["says"].strip()
        assert finding["message"] == f"{finding['says']} {finding['advice']}"
        assert finding["limit"] is not None
        assert finding["remedies"]
        assert finding["source"]
    levels = [finding["level"] for finding in report["findings"]]
    assert report["verdict"] == max(levels, key=LEVELS.index)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.rule)
def test_its_near_neighbour_does_not_trip_it(case: RuleCase, tmp_path: Path) -> None:
    report = report_on(case.passes, tmp_path)

    assert [f["message"] for f in report["findings"] if f["rule"] == case.rule] == []


@pytest.mark.parametrize(
    ("changes", "rule", "found", "limit", "unit", "advice"),
    [
        (
            {"lenses.both.blank_mm": 60, "fitting.left.pd_mm": 33.5},
            "blank-size",
            61.136,
            60.0,
            "mm",
            "Order the 65 mm blank.",
        ),
        ({"fitting.binocular_pd_mm": 65.5}, "pd-sum", 1.5, 1.0, "mm", MEASURE),
        ({"fitting.both.pd_mm": 23.5}, "pd-range", 47.0, 48.0, "mm", MEASURE),
        ({"fitting.both.pd_mm": 26.5}, "pd-range", 53.0, 54.0, "mm", MEASURE),
        ({"fitting.right.pd_mm": 30.0}, "decentration", 5.0, 4.0, "mm", SMALLER),
        ({"fitting.right.vertex_mm": 11.0}, "vertex-band", 11.0, 12.0, "mm", "Confirm it; the lab needs it."),
        (
            {"fitting.pantoscopic_deg": 20.0},
            "pantoscopic-band",
            20.0,
            18.0,
            "°",
            "Measure it again, or adjust the frame.",
        ),
        ({"frame.ed_mm": 51.0}, "box-sane", 51.0, 52.0, "mm", "Measure A, B and ED again."),
        ({"fitting.both.height_mm": 27.0}, "clearance-above", 9.696, 10.0, "mm", DEEPER),
        ({"prescription.right.sphere": -4.25}, "vertical-imbalance", 1.985, 1.0, "Δ", SLAB),
        ({"prescription.right.sphere": -20.25}, "power-step-and-range", -20.25, 20.0, "D", TYPE_AGAIN),
        (
            {"lenses.both.centre_thickness_mm": 1.2},
            "centre-minimum",
            1.2,
            1.5,
            "mm",
            "Order that, or leave it to the lab.",
        ),
    ],
)
def test_a_finding_states_what_was_found_the_limit_and_what_to_do(
    changes: Document, rule: str, found: float, limit: float, unit: str, advice: str, tmp_path: Path
) -> None:
    finding = next(f for f in report_on(changes, tmp_path)["findings"] if f["rule"] == rule)

    assert (finding["found"], finding["limit"]) == pytest.approx((found, limit), abs=0.001)
    assert (finding["unit"], finding["advice"]) == (unit, advice)


LIFT = [{"rule": "frame-route", "eye": None, "reason": "The frame is posted today.", "by": "A. Registrant"}]


def test_a_lifted_stop_stays_in_the_report_with_the_reason_and_does_not_hold_the_order(tmp_path: Path) -> None:
    report = report_on({"frame.source": "trace_only", "lifted": LIFT}, tmp_path)

    assert [(f["rule"], f["level"], f["reason"]) for f in report["findings"]] == [
        ("frame-route", "stop", "The frame is posted today.")
    ]
    assert report["verdict"] == "clear"


def test_nobody_lifts_a_stop_without_a_name_or_for_another_rule(tmp_path: Path) -> None:
    for field in ("by", "reason"):
        lifted = [{**LIFT[0], field: None}]
        assert report_on({"frame.source": "trace_only", "lifted": lifted}, tmp_path)["verdict"] == "stop"
    elsewhere = [{**LIFT[0], "rule": "own-frame"}]
    assert report_on({"frame.source": "trace_only", "lifted": elsewhere}, tmp_path)["verdict"] == "stop"
