"""A pair is handed over to the right person, with what was seen and said; its tray is free for the next."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from orders.finished_queries import follow_ups_due, handed_over_to, wore_progressives_before
from orders.models import HandOver, Order
from orders.progress import CannotHappen, EventKind
from orders.services.events import record_event
from orders.services.handing_over import hand_over, put_in_tray
from orders.services.sending import send_order
from tests.orders import shop
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db


def ready(**fields: Any) -> Order:
    order = shop.brought_to("ready to collect", shop.draft(**fields))
    shop.delivery(order, "sent")
    return order


def handed(order: Order, **told: Any) -> HandOver:
    answers: dict[str, Any] = {
        "reference": order.patient.reference,
        "born_on": order.patient.born_on,
        "given_to": "patient",
        "fit": "good",
        "patients_copy": "printed",
    }
    return hand_over(order=order, actor=person("dora"), **answers | told)


def place(order: Order) -> tuple[str, str]:
    row = Order.objects.get(pk=order.pk)
    return row.place, row.tray


def test_what_was_seen_said_and_given_is_kept_and_the_tray_is_free() -> None:
    order, bystander = ready(), ready(patient=shop.patient("P-90002"))
    put_in_tray(order=order, actor=person("dora"), tray="a 7")
    put_in_tray(order=bystander, actor=person("dora"), tray="A 8")
    day = timezone.localdate() + timedelta(days=14)
    said = {"fit": "adjusted", "acuity": "R 6/6, L 6/5", "cautions": "Mind the step.", "care_given": True}
    row = handed(order, **said, follow_up_on=day)
    assert (row.fit, row.acuity, row.cautions, row.care_given, row.follow_up_on) == (
        "adjusted",
        "R 6/6, L 6/5",
        "Mind the step.",
        True,
        day,
    )
    assert place(order) == ("handed over", "")
    assert place(bystander) == ("ready to collect", "A 8")


@pytest.mark.parametrize(
    ("told", "field", "says"),
    [
        ({"reference": "P-90002"}, "reference", "is not for P-90002. Look at the label again."),
        ({"reference": "P-9000"}, "reference", "Look at the label again."),
        ({"born_on": date(1968, 4, 1)}, "born_on", "This is not the birth date on record."),
        ({"given_to": "other"}, "collector_name", "Say who takes it for the patient."),
        ({"given_to": "guardian", "collector_name": " "}, "collector_name", "Say who takes it for the patient."),
    ],
)
def test_the_wrong_person_gets_nothing(told: dict[str, Any], field: str, says: str) -> None:
    order = ready(patient=shop.patient(born_on=date(1968, 4, 2)))
    with pytest.raises(ValidationError) as refused:
        handed(order, **told)
    assert list(refused.value.message_dict) == [field]
    assert says in refused.value.message_dict[field][0]
    assert (place(order)[0], HandOver.objects.count()) == ("ready to collect", 0)


def test_a_reference_is_read_in_any_case_and_somebody_named_may_take_it() -> None:
    row = handed(ready(), reference=" p-90001 ", given_to="other", collector_name="A. Lindqvist, daughter")
    assert row.collector_name == "A. Lindqvist, daughter"


def test_a_pair_that_is_not_checked_is_not_handed_over_whoever_comes() -> None:
    order = shop.brought_to("in, to be checked")
    with pytest.raises(CannotHappen):
        handed(order)
    assert HandOver.objects.count() == 0


def test_one_pair_lies_in_a_tray() -> None:
    order, other = ready(), ready()
    put_in_tray(order=order, actor=person("dora"), tray="A7")
    with pytest.raises(ValidationError, match=f"Order {order.number} lies in tray A7"):
        put_in_tray(order=other, actor=person("dora"), tray=" a7 ")
    with pytest.raises(IntegrityError), transaction.atomic():
        Order.objects.filter(pk=other.pk).update(tray="A7")
    assert (place(order)[1], place(other)[1]) == ("A7", "")


# The page


def page(order: Order, **told: str) -> str:
    address = reverse("order-hand-over", args=[order.public_id])
    client = signed_in("dora")
    return (client.post(address, told, follow=True) if told else client.get(address)).content.decode()


def test_the_page_says_beside_the_field_that_this_is_not_the_person_and_keeps_what_was_typed() -> None:
    order = ready(patient=shop.patient(born_on=date(1968, 4, 2)))
    html = page(
        order,
        reference=order.patient.reference,
        born_on="1/4/1968",
        given_to="patient",
        fit="good",
        patients_copy="printed",
        acuity="R 6/6",
    )
    assert 'href="#id_born_on"' in html
    assert "This is not the birth date on record" in html
    assert 'value="R 6/6"' in html
    assert place(order)[0] == "ready to collect"


def test_the_page_never_shows_what_the_person_has_to_say() -> None:
    order = ready(patient=shop.patient(born_on=date(1968, 4, 2)))
    without_addresses = re.sub(r"[0-9a-f]{8}-[0-9a-f-]{27}", "", page(order))
    assert order.patient.reference not in without_addresses
    assert "1968" not in without_addresses.replace("As in 2 Apr 1968 or 02/04/1968.", "")


def test_what_is_to_be_said_is_ticked_and_what_was_said_is_shown_afterwards() -> None:
    order = ready()
    assert "It does not protect the eyes" in page(order)
    said = "It does not protect the eyes: wear goggles made for the purpose at work, games and gardening."
    answers = {
        "reference": order.patient.reference,
        "born_on": order.patient.born_on.isoformat(),
        "given_to": "patient",
    }
    html = page(order, **answers, fit="good", patients_copy="declined", cautions=said)
    assert f"Order {order.number} is handed over" in html
    assert said in html
    assert "Copy: offered and declined." in html
    assert HandOver.objects.get().cautions == said


def test_a_draft_has_no_page_to_hand_it_over() -> None:
    order = shop.draft()
    assert signed_in("dora").get(reverse("order-hand-over", args=[order.public_id])).status_code == 404


def test_the_patients_copy_names_the_person_and_the_lenses_and_never_a_code() -> None:
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=1)
    html = signed_in("dora").get(reverse("order-patients-copy", args=[order.public_id])).content.decode()
    for text in (order.patient.full_name, "Single vision", "Next eye test", "Harbour Lane Opticians"):
        assert text in html
    assert "m160" not in html


# Whom to ask


def test_those_who_should_have_been_asked_and_were_not_heard_of_are_listed() -> None:
    today = timezone.localdate()
    due, later, heard, never = (ready(patient=shop.patient(f"P-9010{n}")) for n in range(4))
    tomorrow = today + timedelta(days=1)
    record_event(order=due, kind=EventKind.NOTE, actor=person("dora"), note="Said before the hand-over")
    asked = ((due, tomorrow), (later, today + timedelta(days=2)), (heard, tomorrow), (never, None))
    rows = {order.pk: handed(order, follow_up_on=day) for order, day in asked}
    record_event(order=heard, kind=EventKind.ADJUSTED, actor=person("dora"))
    assert list(follow_ups_due(tomorrow)) == [rows[due.pk]]
    assert list(follow_ups_due(today)) == []


def progressive(patient: Any, number: int) -> Order:
    order = shop.brought_to("ready to collect", shop.draft(patient=patient))
    lens = {"design": "p", "extra": {"design_kind": "progressive"}}
    text = json.dumps({"format": "lens-order/1", "lenses": {"right": lens, "left": lens}})
    order.documents.create(
        number=order.number,
        revision=number,
        text=text,
        report="{}",
        pdf=b"",
        frozen_at=timezone.now(),
        frozen_by=shop.dispenser(),
    )
    return order


def test_a_first_progressive_is_the_first_that_this_patient_was_given() -> None:
    ours, theirs = shop.patient(), shop.patient("P-90002")
    handed(progressive(theirs, 1))
    first, second = progressive(ours, 1), progressive(ours, 1)
    assert not wore_progressives_before(first)
    assert list(handed_over_to(ours)) == []
    handed(first)
    assert wore_progressives_before(second)
    assert [document.order for document in handed_over_to(ours)] == [first]
    assert not wore_progressives_before(first), "A pair is not the one before itself."


@pytest.mark.parametrize(("kind", "before"), [("progressive", True), ("office", True), ("bifocal", False), ("", False)])
def test_a_progressive_read_on_the_lensmeter_was_worn_before(kind: str, before: bool) -> None:
    order = progressive(shop.patient(), 1)
    shop.worn_pair(order.patient, {"sphere": -2}, {"sphere": -2}, kind=kind)
    assert wore_progressives_before(order) is before
