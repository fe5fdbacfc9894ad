"""The strip of figures on the desk: each figure is the report's, and the one that a finding is about is marked."""

from __future__ import annotations

import pytest

from dispensing.models import Practice
from orders.documents.order_report import FindingPart, Level
from orders.drawings.layout import pair_layout
from orders.models import Order
from orders.presentation.documents import Headings
from orders.presentation.findings import findings_shown, verdict_in_short, with_an_answer
from orders.presentation.strip import AtAGlance, Cell, at_a_glance, strip_rows
from orders.services.judging import Judgement, judge
from orders.services.lifting import lift
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db


def rows_of(judged: Judgement) -> dict[str, dict[str, Cell]]:
    layout = pair_layout(judged.document, judged.catalogue)
    rows = strip_rows(judged.document, judged.report, layout, Headings.of(Practice.current()))
    return {row.heading: {cell.heading: cell for cell in row.cells} for row in rows}


def drawn_too_big() -> Order:
    person, frame = shop.patient(), shop.frame(model="Wide", a_mm=62, b_mm=48, dbl_mm=22, ed_mm=66)
    fitting = shop.fitting(person, frame, height_mm_right=25, height_mm_left=25)
    return shop.draft(patient=person, frame=frame, fitting=fitting)


def test_each_figure_is_the_report_s_own() -> None:
    judged = judge(shop.draft())
    computed = judged.report.computed
    right, left = rows_of(judged)["R"], rows_of(judged)["L"]
    assert (right["Power to be made"].text, left["Power to be made"].text) == ("−2.25", "−2.00")
    assert (right["PD"].text, left["PD"].text, right["PD"].beside) == ("32.0", "31.5", "far")
    for row, eye in ((right, computed.right), (left, computed.left)):
        assert row["Blank"].text == f"{there(eye.blank_needed_mm):.1f}"
        assert row["Centre"].text == f"{there(eye.centre_thickness_mm):.1f}"
        assert row["Thickest"].text == f"{there(eye.edge_max_mm):.1f}"
        assert row["Weight"].text == f"{there(eye.weight_g):.1f}"
    assert right["Blank"].beside == "of 65"
    assert right["Thickest"].beside == "at the bottom near the temple"
    assert {cell.level for row in (right, left) for cell in row.values()} == {None}


def test_the_figure_that_a_finding_is_about_is_marked_until_somebody_answers_for_it() -> None:
    order = drawn_too_big()
    found = rows_of(judge(order))
    assert (found["R"]["Blank"].level, found["L"]["Blank"].level) == ("stop", "stop")
    assert found["R"]["Weight"].level is None
    lift(order=order, actor=shop.dispenser(), version=1, rule="blank-size", eye="right", reason="They have 80")
    order.refresh_from_db()
    settled = rows_of(judge(order))
    assert (settled["R"]["Blank"].level, settled["L"]["Blank"].level) == (None, "stop")


def test_at_a_glance_the_worse_lens_and_the_weight_of_both_are_told() -> None:
    judged = judge(drawn_too_big())
    computed = judged.report.computed
    worse = max(there(computed.right.blank_needed_mm), there(computed.left.blank_needed_mm))
    thick = max(there(computed.right.edge_max_mm), there(computed.left.edge_max_mm))
    weight = there(computed.right.weight_g) + there(computed.left.weight_g)
    assert at_a_glance(judged.report, pair_layout(judged.document, judged.catalogue)) == AtAGlance(
        f"{worse:.1f} of 70 mm", f"{thick:.1f} mm", f"{weight:.1f} g"
    )


def test_an_order_without_lenses_has_no_figures() -> None:
    judged = judge(shop.draft(lab=None, lenses={}))
    assert rows_of(judged) == {}
    assert at_a_glance(judged.report, None) is None


def test_the_verdict_in_short_counts_what_is_left() -> None:
    assert verdict_in_short(judge(shop.draft()).report) == "Ready to send"
    order = drawn_too_big()
    report = judge(order).report
    open_ones = [part.level for part in with_an_answer(report.findings)]
    stops, asks = open_ones.count("stop"), open_ones.count("ask")
    assert verdict_in_short(report) == f"{stops} to clear, {asks} to confirm"


def found(rule: str, level: Level, by: str | None = None) -> FindingPart:
    return FindingPart(rule=rule, level=level, eye="right", message="Told.", confirmed_by=by)


def test_the_worst_three_come_first_and_what_is_settled_last() -> None:
    parts = [
        found("blank-size", "stop", by="Dana Okafor"),
        found("edge-minimum", "stop"),
        found("decentration", "ask"),
        found("promise-date", "ask"),
        found("low-abbe", "ask"),
        found("sun-lens-reflections", "note"),
    ]
    shown = findings_shown(parts)
    assert [group.first.rule for group in shown.worst] == ["edge-minimum", "decentration", "promise-date"]
    assert [group.first.rule for group in shown.others] == ["low-abbe", "sun-lens-reflections"]
    assert [group.first.rule for group in shown.settled] == ["blank-size"]
    keys = [group.key for group in (*shown.worst, *shown.others, *shown.settled)]
    assert keys[0] == "edge-minimum-right-stop"
    assert len(set(keys)) == len(parts)
