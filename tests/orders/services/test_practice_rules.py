"""The practice's own rules: stricter figures and asks left out, with reason, date and name; stops stay stops."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from dispensing.models import AuditEvent, PracticeRule
from dispensing.queries.limits import practice_limits
from dispensing.services.practice_rules import restore, tighten
from orders.models import Order
from orders.services.drafts import save_draft
from orders.services.judging import judge
from orders.services.practice_rules import silence
from tests.orders import shop
from tests.people import person

pytestmark = pytest.mark.django_db

WHY = "Two pairs came back last month"


def tightened(value: float = 1.0, reason: str = WHY) -> PracticeRule:
    return tighten(actor=person("ines"), rule="decentration", limit="in_max_mm", value=value, reason=reason)


def said(order: Order, rule: str) -> list[Any]:
    return [
        (part.level, part.eye) for part in judge(Order.objects.get(pk=order.pk)).report.findings if part.rule == rule
    ]


def test_without_decisions_the_trades_limits_hold() -> None:
    assert practice_limits().values == {}
    assert practice_limits().silenced == frozenset()


def test_a_stricter_figure_is_found_in_orders_from_then_on() -> None:
    # 48 + 19 against PDs of 32 and 31.5: 1.5 and 2 mm of decentration, which the trade's 4 mm allows.
    order = shop.draft()
    assert said(order, "decentration") == []
    row = tightened()
    assert said(order, "decentration") == [("ask", "right"), ("ask", "left")]
    assert (row.decided_on, row.decided_by, row.reason) == (timezone.localdate(), person("ines"), WHY)


def test_the_verdict_kept_with_a_draft_follows_when_it_is_saved() -> None:
    order = shop.draft()
    tightened()
    save_draft(order=order, actor=shop.dispenser(), version=order.version, fields={"remarks": "x"})
    assert Order.objects.get(pk=order.pk).verdict == "ask"


@pytest.mark.parametrize("value", [4.0, 4.5, -1.0])
def test_a_figure_that_is_not_stricter_is_refused_with_both_figures(value: float) -> None:
    with pytest.raises(ValidationError, match="is not stricter than the trade's 4 mm: a lower figure can be set"):
        tightened(value)
    assert not PracticeRule.objects.exists()


def test_a_figure_that_has_no_stricter_side_is_refused() -> None:
    with pytest.raises(ValidationError, match="cannot be changed here"):
        tighten(actor=person("ines"), rule="add-range", limit="step_d", value=0.125, reason=WHY)


@pytest.mark.parametrize("reason", ["", "   ", "x" * 301])
def test_no_decision_without_a_reason_that_can_be_read(reason: str) -> None:
    with pytest.raises(ValidationError):
        tightened(reason=reason)
    assert not AuditEvent.objects.filter(verb="rule.tighten").exists()


def test_a_second_decision_replaces_the_first_and_both_stand_on_the_trail() -> None:
    tightened(3.0)
    tightened(2.5, reason="Still too wide")
    assert practice_limits().values == {"decentration": {"in_max_mm": 2.5}}
    newest, oldest = AuditEvent.objects.filter(verb="rule.tighten")
    assert oldest.changes["Most decentration in"] == [None, "3 mm"]
    assert newest.changes["Most decentration in"] == ["3 mm", "2.5 mm"]
    assert newest.changes["reason"] == [None, "Still too wide"]


def test_a_decision_taken_back_leaves_the_trades_limit_and_a_trace() -> None:
    order = shop.draft()
    tightened()
    restore(actor=person("ines"), rule="decentration", limit="in_max_mm")
    assert said(order, "decentration") == []
    assert AuditEvent.objects.get(verb="rule.restore").changes["Most decentration in"] == ["1 mm", None]


def test_what_was_never_decided_cannot_be_taken_back() -> None:
    with pytest.raises(ValidationError, match="The practice has set nothing of its own"):
        restore(actor=person("ines"), rule="decentration", limit="in_max_mm")


def a_wide_frame() -> Order:
    person_, frame = shop.patient(), shop.frame(a_mm=60, ed_mm=62)
    return shop.draft(patient=person_, frame=frame, fitting=shop.fitting(person_, frame))


def test_an_ask_left_out_is_asked_no_more() -> None:
    order = a_wide_frame()
    assert said(order, "decentration") == [("ask", "right"), ("ask", "left")]
    silence(actor=person("ines"), rule="decentration", reason="Our lab edges these daily")
    assert said(order, "decentration") == []


def test_a_rule_that_only_stops_cannot_be_silenced() -> None:
    with pytest.raises(ValidationError, match="a stop cannot be silenced"):
        silence(actor=person("ines"), rule="blank-size", reason=WHY)


def test_silencing_a_rule_that_asks_and_stops_leaves_its_stops() -> None:
    # PDs of 22 and 22 mm make 44: no person has that.
    person_, frame = shop.patient(), shop.frame()
    figures = {"pd_mm_right": 22.0, "pd_mm_left": 22.0, "binocular_pd_mm_both": 44.0}
    order = shop.draft(patient=person_, frame=frame, fitting=shop.fitting(person_, frame, **figures))
    silence(actor=person("ines"), rule="pd-range", reason=WHY)
    assert ("stop", "both") in said(order, "pd-range")


def test_there_is_no_rule_of_that_name() -> None:
    with pytest.raises(ValidationError, match="no rule"):
        silence(actor=person("ines"), rule="moon-phase", reason=WHY)


def test_a_figure_that_the_trade_has_overtaken_counts_no_more() -> None:
    tightened(3.0)
    PracticeRule.objects.update(value=6.0)
    assert practice_limits().values == {}


def test_the_database_refuses_a_decision_without_its_figure_or_reason() -> None:
    decided = {"rule": "decentration", "decided_on": timezone.localdate(), "decided_by": person("ines")}
    for wrong in (
        {"kind": "tighten", "limit": "in_max_mm", "reason": WHY},
        {"kind": "silence", "value": 1.0, "reason": WHY},
        {"kind": "silence", "reason": ""},
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            PracticeRule.objects.create(**decided, **wrong)


def test_the_report_frozen_with_a_sent_order_is_made_by_the_practices_rules() -> None:
    tightened()
    judged = judge(shop.draft())
    assert judged.asked.limits.values == {"decentration": {"in_max_mm": 1.0}}
    assert "decentration" in {part.rule for part in judged.open_findings}
