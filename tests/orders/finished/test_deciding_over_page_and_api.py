"""Deciding on a pair, by page and by program: the same answers, the same refusals, and nothing lost that was typed."""

from __future__ import annotations

import html
import re
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from rest_framework.test import APIClient

from orders.models import Decision, Order
from orders.services.handing_over import hand_over
from orders.services.remakes import start_remake
from orders.services.sending import send_order
from tests.orders import shop
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db


def came_in() -> Order:
    order = shop.brought_to("in, to be checked")
    shop.delivery(order, "sent")
    return order


def page(order: Order, who: str = "ravi", **told: str) -> Any:
    address = reverse("order-decide", args=[order.public_id])
    return signed_in(who).post(address, told) if told else signed_in(who).get(address)


def program(order: Order, **told: Any) -> Any:
    client = APIClient()
    client.force_authenticate(person("ravi"))
    return client.post(reverse("api-order-decisions", args=[order.public_id]), told, format="json")


def test_only_what_may_follow_is_offered() -> None:
    asked = page(came_in()).content.decode()
    for kind in ("passed", "conceded", "returned", "our mistake"):
        assert f'value="{kind}"' in asked
    late = page(shop.brought_to("ready to collect")).content.decode()
    assert 'value="returned"' in late
    assert 'value="passed"' not in late
    assert "there is nothing to decide" in page(shop.brought_to("at the lab")).content.decode()


def test_what_is_missing_is_said_beside_its_field_and_what_was_typed_stays() -> None:
    order = came_in()
    html = page(order, kind="conceded", cause="", reason="A faint line").content.decode()
    for field in ("cause", "allowed_by"):
        assert f'href="#id_{field}"' in html
    assert 'value="A faint line"' in html
    assert Order.objects.get(pk=order.pk).place == "in, to be checked"


def test_our_mistake_leads_to_its_remake_where_nothing_has_changed_yet() -> None:
    order = came_in()
    answer = page(order, kind="our mistake", cause="entry", reason="15 typed for 51")
    remake = order.remakes.get()
    assert answer.headers["Location"] == reverse("order-page", args=[remake.public_id])
    html = signed_in("ravi").get(answer.headers["Location"]).content.decode()
    assert f'Remake of <a href="{reverse("order-page", args=[order.public_id])}">{order.number}' in html
    assert "Typed or read wrongly from the prescription; ours." in html


def test_the_record_says_the_cause_whose_it_was_and_who_allowed_it() -> None:
    order = came_in()
    page(
        order,
        kind="conceded",
        cause="flaw",
        reason="A faint line",
        allowed_by=person("ines").username,
        patient_told="on",
    )
    html = signed_in("dora").get(reverse("order-page", args=[order.public_id])).content.decode()
    assert "Scratch, chip, bubble or mark; the lab&#x27;s." in html
    assert "Allowed by <bdi>Ines Holloway</bdi>; the patient agrees." in html


def test_a_program_decides_and_is_told_of_the_remake_it_began() -> None:
    order = came_in()
    answer = program(order, kind="returned", cause="axis", reason="Left axis 8", order_again=True)
    assert answer.status_code == 201
    assert answer.json()["event"]["kind"] == "returned"
    assert answer.json()["remake"] == str(order.remakes.get().public_id)


@pytest.mark.parametrize(
    ("told", "status", "named"),
    [
        ({"kind": "returned", "cause": "axis"}, 400, "reason"),
        ({"kind": "returned", "cause": "entry", "reason": "x"}, 400, "cause"),
        ({"kind": "conceded", "cause": "axis", "reason": "x"}, 400, "allowed_by"),
        ({"kind": "conceded", "cause": "axis", "reason": "x", "allowed_by": "dora"}, 400, "allowed_by"),
        ({"kind": "passed", "cause": "axis", "reason": "x"}, 400, "kind"),
        ({"kind": "returned", "cause": "axis", "reason": "x", "colour": "red"}, 400, "colour"),
    ],
)
def test_a_program_is_refused_with_the_name_of_what_is_wrong(told: dict[str, Any], status: int, named: str) -> None:
    person("dora")
    order = came_in()
    answer = program(order, **told)
    assert answer.status_code == status
    assert named in str(answer.json())
    assert Decision.objects.count() == 0


def test_a_program_is_told_what_may_follow_instead() -> None:
    answer = program(shop.brought_to("at the lab"), kind="returned", cause="axis", reason="x")
    assert answer.status_code == 409
    assert "received" in answer.json()["may"]


def test_home_lists_whom_to_ask_and_not_before_the_day() -> None:
    order = shop.brought_to("ready to collect")
    shop.delivery(order, "sent")
    told: dict[str, Any] = {
        "reference": order.patient.reference,
        "born_on": order.patient.born_on,
        "given_to": "patient",
    }
    day = timezone.localdate()
    hand_over(order=order, actor=person("dora"), **told, fit="good", patients_copy="printed", follow_up_on=day)
    assert "Ask how it goes on" in signed_in("dora").get("/").content.decode()
    other = shop.brought_to("ready to collect", shop.draft(patient=shop.patient("P-90002")))
    shop.delivery(other, "sent")
    later = {**told, "reference": "P-90002", "born_on": other.patient.born_on, "follow_up_on": day + timedelta(days=1)}
    hand_over(order=other, actor=person("dora"), **later, fit="good", patients_copy="printed")
    html = signed_in("dora").get("/").content.decode()
    assert f"{order.number}, due" in html
    assert f"{other.number}, due" not in html


def test_a_remake_shows_what_changes_from_the_first_pair_and_nothing_else() -> None:
    first = shop.draft()
    send_order(order=first, actor=shop.dispenser(), version=1)
    remake = start_remake(first=first, actor=person("ravi"), cause="axis", whose="lab", said="Left axis")
    address = reverse("order-page", args=[remake.public_id])
    assert "Nothing changes: the same pair is ordered again." in signed_in("ravi").get(address).content.decode()
    lens = {**shop.LENS, "blank_mm": 70.0}
    Order.objects.filter(pk=remake.pk).update(lenses={"right": lens, "left": shop.LENS})
    html = signed_in("ravi").get(address).content.decode()
    table = html.split("What changes</caption>")[1].split("</tbody>")[0]
    cells = re.findall(r"<t[hd][^>]*>([^<]*)</t[hd]>", table.split("<tbody>")[1])
    assert cells == ["Right blank", "–", "70.0 mm"]


@pytest.mark.parametrize("by_page", [True, False])
def test_acceptance_is_noted_among_what_happened_too(by_page: bool) -> None:
    order = came_in()
    told = {"kind": "passed", "note": "Looks fine"}
    _note(order, "ravi", told, by_page=by_page)
    assert Order.objects.get(pk=order.pk).place == "checked, patient not told"
    assert order.events.get(kind="passed").note == "Looks fine"


def _note(order: Order, who: str, told: dict[str, str], *, by_page: bool) -> Any:
    if by_page:
        return signed_in(who).post(reverse("order-event", args=[order.public_id]), told, follow=True)
    client = APIClient()
    client.force_authenticate(person(who))
    return client.post(reverse("api-order-events", args=[order.public_id]), told, format="json")


@pytest.mark.parametrize("by_page", [True, False])
def test_acceptance_is_not_the_front_desks_to_note_and_anything_else_is(by_page: bool) -> None:
    order, other = came_in(), came_in()
    refused = _note(order, "dora", {"kind": "passed", "note": "Looks fine"}, by_page=by_page)
    assert by_page or refused.status_code == 403
    assert "a dispenser or a manager makes it" in html.unescape(refused.content.decode())
    assert not order.events.filter(kind="passed").exists()
    _note(order, "dora", {"kind": "note", "note": "The case is cracked"}, by_page=by_page)
    assert order.events.get(kind="note").note == "The case is cracked"
    assert set(Order.objects.values_list("place", flat=True)) == {"in, to be checked"}
    assert not other.events.filter(kind="note").exists()


def test_the_record_offers_acceptance_to_those_who_may_decide() -> None:
    address = reverse("order-page", args=[came_in().public_id])
    for who, offers in (("dora", False), ("ravi", True), ("ines", True)):
        assert ('<option value="passed"' in signed_in(who).get(address).content.decode()) is offers, who
