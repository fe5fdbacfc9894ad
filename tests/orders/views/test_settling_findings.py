"""Stops lifted and questions confirmed on the desk: by whom, for what reason, and for how long."""

from __future__ import annotations

from html import unescape

import pytest
from django.urls import reverse

from dispensing.roles import ABILITIES, Ability, Role
from orders.models import Order
from orders.rules.registry import rule_by_id
from orders.services.drafts import save_draft
from orders.services.judging import judge
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import HTMX, change, page_of, settle, stored, text_of
from tests.people import signed_in

pytestmark = pytest.mark.django_db


def test_who_may_draw_up_but_not_send_an_order_settles_nothing_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(ABILITIES, Role.DISPENSER, ABILITIES[Role.DISPENSER] - {Ability.ORDER_SEND})
    order = shop.draft()
    for address in ("order-settle", "order-unsettle"):
        assert signed_in("ravi").post(reverse(address, args=[order.public_id]), headers=HTMX).status_code == 403
    assert reverse("order-settle", args=[order.public_id]) not in page_of(order)


def drawn_too_big() -> Order:
    """A frame whose lens no blank of the catalogue covers: a stop, for each eye."""
    person = shop.patient()
    frame = shop.frame(model="Wide", a_mm=62, b_mm=48, dbl_mm=22, ed_mm=66)
    return shop.draft(
        patient=person, frame=frame, fitting=shop.fitting(person, frame, height_mm_right=25, height_mm_left=25)
    )


def test_a_stop_is_lifted_with_a_reason_in_the_name_of_who_gave_it() -> None:
    order = drawn_too_big()
    assert "Say why this order may be sent all the same" in text_of(settle(order, "blank-size", "right", reason=" "))
    answer = text_of(settle(order, "blank-size", "right", reason="The lab has 80 mm in stock"))
    assert "Lifted by Ravi Castellan: The lab has 80 mm in stock" in answer
    (entry,) = stored(order).lifted
    assert (entry["rule"], entry["eye"], entry["by"]) == ("blank-size", "right", "Ravi Castellan")


def test_what_was_lifted_lapses_when_its_facts_change_and_stays_when_others_do() -> None:
    order = drawn_too_big()
    settle(order, "blank-size", "right", reason="The lab has 80 mm in stock")
    assert "Lifted by Ravi Castellan" in text_of(change(order, remarks="Mind the bridge"))
    assert "Lifted by Ravi Castellan" not in text_of(change(order, right__blank_mm="65"))


def test_a_lifted_stop_can_be_taken_back() -> None:
    order = drawn_too_big()
    settle(order, "blank-size", "right", reason="The lab has 80 mm in stock")
    data = {"rule": "blank-size", "eye": "right", "version": stored(order).version}
    address = reverse("order-unsettle", args=[order.public_id])
    answer = text_of(signed_in("ravi").post(address, data, headers=HTMX))
    assert "Lifted by" not in answer
    assert stored(order).lifted == []
    answer = text_of(signed_in("ravi").post(address, data | {"version": stored(order).version}, headers=HTMX))
    assert "The check no longer says" in answer


def test_a_question_is_confirmed_by_name_without_a_reason() -> None:
    person, frame = shop.patient(), shop.frame()
    uneven = shop.fitting(person, frame, pd_mm_right=35.0, binocular_pd_mm_both=66.5)
    order = shop.draft(patient=person, frame=frame, fitting=uneven)
    asked = next(part for part in judge(order).report.findings if part.rule == "pd-asymmetry")
    assert asked.level == "ask"
    assert "Confirmed by Ravi Castellan" in text_of(settle(order, asked.rule, asked.eye or ""))


def test_settling_on_top_of_an_older_version_is_refused_and_shows_both() -> None:
    order = drawn_too_big()
    save_draft(order=stored(order), actor=shop.dispenser(), version=1, fields={"remarks": "Hers"})
    data = {"rule": "blank-size", "eye": "right", "version": 1, "reason": "The lab has 80 mm"}
    answer = signed_in("ravi").post(reverse("order-settle", args=[order.public_id]), data, headers=HTMX)
    assert "changed this draft" in text_of(answer)
    assert stored(order).lifted == []


def test_a_finding_that_nobody_made_cannot_be_settled() -> None:
    order = shop.draft()
    assert "The check no longer says “The lens cuts out of the blank” for the right eye" in text_of(
        settle(order, "blank-size", "right", reason="x")
    )


def test_a_finding_leads_to_its_field_and_to_its_rule_whose_page_alone_gives_the_source() -> None:
    order = drawn_too_big()
    html = page_of(order)
    finding = html[html.index("needs a blank") :]
    finding = finding[: finding.index("</li>")]
    assert f'<a href="{reverse("check-page", args=["blank-size"])}">About this check and its source</a>' in finding
    assert '<a href="#id_right-blank_mm">Go to the field</a>' in finding
    source = there(rule_by_id("blank-size")).origin.source
    assert source not in unescape(html)
    assert source in unescape(signed_in("ravi").get(reverse("check-page", args=["blank-size"])).content.decode())


def test_a_finding_about_the_vertex_of_the_test_leads_to_its_field_on_the_prescriptions_page() -> None:
    person = shop.patient()
    strong = shop.prescription(person, {"sphere": -6.5}, {"sphere": -6.5}, vertex_mm=None)
    order = shop.draft(patient=person, prescription=strong)
    address = reverse("prescription-correct", args=[strong.public_id])
    assert f'<a href="{address}#id_vertex_mm">Go to the field</a>' in page_of(order)
    assert 'id="id_vertex_mm"' in signed_in("ravi").get(address).content.decode()
