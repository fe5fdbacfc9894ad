"""Stops lifted and asks confirmed: with a reason and a name, and only for the facts they were about."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from dispensing.models import AuditEvent, Measurement, Prescription
from orders.models import Order
from orders.services.drafts import save_draft
from orders.services.errors import NoSuchFinding, NotReady
from orders.services.judging import judge
from orders.services.lifting import lift, take_back
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db


def order_whose_right_lens_misses_the_blank(**fields: Any) -> Order:
    """PD 24 on the right of a 48 mm lens: far more decentration than a blank of 70 mm gives."""
    person, frame = shop.patient(), shop.frame(a_mm=56, ed_mm=58)
    return shop.draft(patient=person, frame=frame, fitting=shop.fitting(person, frame, pd_mm_right=24.0), **fields)


def open_rules(order: Order) -> set[Any]:
    return {(part.rule, part.eye) for part in judge(order).open_findings}


def lift_all(order: Order, reason: str = "Lab confirmed by phone") -> None:
    for part in judge(order).open_findings:
        lift(order=order, actor=shop.dispenser(), version=order.version, rule=part.rule, eye=part.eye, reason=reason)


def test_a_lifted_stop_is_no_longer_open_and_carries_name_and_reason() -> None:
    order = order_whose_right_lens_misses_the_blank()
    assert ("blank-size", "right") in open_rules(order)
    lift(order=order, actor=shop.dispenser(), version=1, rule="blank-size", eye="right", reason="Lab has 80 mm")
    assert ("blank-size", "right") not in open_rules(order)
    document = judge(Order.objects.get(pk=order.pk)).document
    (entry,) = there(document.lifted)
    assert (entry.rule, entry.eye, entry.reason, entry.by) == ("blank-size", "right", "Lab has 80 mm", "Dana Okafor")
    assert AuditEvent.objects.filter(verb="order.lift", record_id=order.public_id).exists()


def test_a_stop_is_not_lifted_without_a_reason() -> None:
    order = order_whose_right_lens_misses_the_blank()
    with pytest.raises(ValidationError, match="Say why"):
        lift(order=order, actor=shop.dispenser(), version=1, rule="blank-size", eye="right", reason="  ")


def test_what_the_check_does_not_say_cannot_be_lifted() -> None:
    with pytest.raises(NoSuchFinding, match="no longer says"):
        lift(order=shop.draft(), actor=shop.dispenser(), version=1, rule="blank-size", eye="right", reason="Any")


def test_a_lifted_stop_lapses_when_the_figures_it_was_said_about_change() -> None:
    order = order_whose_right_lens_misses_the_blank()
    lift(order=order, actor=shop.dispenser(), version=1, rule="blank-size", eye="right", reason="Lab has 80 mm")
    Measurement.objects.filter(fitting=order.fitting, eye="right", quantity="pd_mm").update(value=23)
    order = Order.objects.get(pk=order.pk)
    assert ("blank-size", "right") in open_rules(order)
    judged = judge(order)
    assert [entry["rule"] for entry in judged.lapsed] == ["blank-size"]
    assert not judged.document.lifted


def test_a_lifted_stop_stays_when_something_else_changes() -> None:
    order = order_whose_right_lens_misses_the_blank()
    lift(order=order, actor=shop.dispenser(), version=1, rule="blank-size", eye="right", reason="Lab has 80 mm")
    save_draft(order=order, actor=shop.dispenser(), version=2, fields={"remarks": "Mind the bridge"})
    assert ("blank-size", "right") not in open_rules(Order.objects.get(pk=order.pk))


def test_a_lifted_stop_taken_back_is_open_again() -> None:
    order = order_whose_right_lens_misses_the_blank()
    lift(order=order, actor=shop.dispenser(), version=1, rule="blank-size", eye="right", reason="Lab has 80 mm")
    take_back(order=order, actor=shop.dispenser(), version=2, rule="blank-size", eye="right")
    assert ("blank-size", "right") in open_rules(order)


def test_an_order_with_an_open_stop_is_not_sent_and_says_which() -> None:
    order = order_whose_right_lens_misses_the_blank()
    with pytest.raises(NotReady) as refused:
        send_order(order=order, actor=shop.dispenser(), version=order.version)
    assert "blank-size" in {part.rule for part in refused.value.findings}
    assert Order.objects.get(pk=order.pk).state == "draft"


def test_with_all_stops_lifted_it_is_sent_and_they_go_with_the_document_and_the_paper() -> None:
    order = order_whose_right_lens_misses_the_blank()
    lift_all(order)
    stored = send_order(order=order, actor=shop.dispenser(), version=order.version)
    sent = json.loads(stored.text)
    assert {"rule": "blank-size", "eye": "right", "reason": "Lab confirmed by phone", "by": "Dana Okafor"} in sent[
        "lifted"
    ]
    report = json.loads(stored.report)
    stop = next(part for part in report["findings"] if part["rule"] == "blank-size")
    assert (stop["level"], stop["confirmed_by"]) == ("stop", "Dana Okafor")


def order_whose_lenses_both_miss_the_blank() -> Order:
    person, frame = shop.patient(), shop.frame(a_mm=56, ed_mm=58)
    return shop.draft(patient=person, frame=frame, fitting=shop.fitting(person, frame, pd_mm_right=24, pd_mm_left=24))


def test_both_eyes_are_lifted_at_once_and_stand_as_two_entries() -> None:
    order = order_whose_lenses_both_miss_the_blank()
    assert {("blank-size", "right"), ("blank-size", "left")} <= open_rules(order)
    lift(order=order, actor=shop.dispenser(), version=1, rule="blank-size", eye="both", reason="Lab has 80 mm")
    assert not {("blank-size", "right"), ("blank-size", "left")} & open_rules(order)
    assert [entry["eye"] for entry in order.lifted] == ["right", "left"]
    assert AuditEvent.objects.filter(verb="order.lift").count() == 2
    take_back(order=order, actor=shop.dispenser(), version=2, rule="blank-size", eye="both")
    assert {("blank-size", "right"), ("blank-size", "left")} <= open_rules(order)


def test_of_two_eyes_lifted_the_one_whose_figures_change_lapses_alone() -> None:
    order = order_whose_lenses_both_miss_the_blank()
    lift(order=order, actor=shop.dispenser(), version=1, rule="blank-size", eye="both", reason="Lab has 80 mm")
    Measurement.objects.filter(fitting=order.fitting, eye="right", quantity="pd_mm").update(value=23)
    order = Order.objects.get(pk=order.pk)
    assert ("blank-size", "right") in open_rules(order)
    assert ("blank-size", "left") not in open_rules(order)


def test_what_a_rule_says_more_of_the_same_eye_is_not_settled_by_what_was_lifted_before() -> None:
    # A cylinder beyond the design's 6 D is agreed with the lab; then a treatment is ordered that it does not have.
    person = shop.patient()
    strong = shop.prescription(person, right={"sphere": -1, "cylinder": -7, "axis": 90})
    order = shop.draft(patient=person, prescription=strong)
    lift(order=order, actor=shop.dispenser(), version=1, rule="in-range", eye="right", reason="Lab makes this one")
    assert ("in-range", "right") not in open_rules(order)
    gold = {**shop.LENS, "treatments": ["ar", "gold"]}
    save_draft(order=order, actor=shop.dispenser(), version=2, fields={"lenses": {"right": gold, "left": shop.LENS}})
    assert ("in-range", "right") in open_rules(Order.objects.get(pk=order.pk))


def on_the_day_after(monkeypatch: pytest.MonkeyPatch, days: int = 1) -> None:
    today = timezone.localdate
    monkeypatch.setattr(
        "django.utils.timezone.localdate",
        lambda moment=None, tz=None: today(moment, tz) if moment else today() + timedelta(days=days),
    )


def order_on_a_prescription_that_ran_out() -> Order:
    person = shop.patient()
    expired = timezone.localdate() - timedelta(days=5)
    return shop.draft(patient=person, prescription=shop.prescription(person, expires_on=expired))


def test_what_was_settled_of_unchanged_facts_is_not_asked_again_when_a_day_has_passed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    order = order_on_a_prescription_that_ran_out()
    lift(order=order, actor=shop.dispenser(), version=1, rule="prescription-in-date", reason="Lost on holiday")
    on_the_day_after(monkeypatch)
    judged = judge(Order.objects.get(pk=order.pk))
    assert judged.document.ordered_on == timezone.localdate()
    assert "prescription-in-date" not in {part.rule for part in judged.open_findings}
    assert judged.lapsed == ()


def test_a_new_date_on_the_prescription_is_a_new_fact_also_a_day_later(monkeypatch: pytest.MonkeyPatch) -> None:
    order = order_on_a_prescription_that_ran_out()
    lift(order=order, actor=shop.dispenser(), version=1, rule="prescription-in-date", reason="Lost on holiday")
    Prescription.objects.filter(pk=there(order.prescription).pk).update(
        expires_on=timezone.localdate() - timedelta(days=400)
    )
    on_the_day_after(monkeypatch)
    assert ("prescription-in-date", None) in open_rules(Order.objects.get(pk=order.pk))
