"""Reading an order once more, sending it, and what its record offers afterwards."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from dispensing.models import AuditEvent
from orders.models import Delivery, Lab, Order, OrderDocument
from orders.progress import EventKind
from orders.sending.by_hand import retry_delivery, withhold_delivery
from orders.services.drafts import save_draft
from orders.services.events import record_event
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import page_of, stored, text_of
from tests.people import Answer, person, signed_in

pytestmark = pytest.mark.django_db


def sent(**fields: Any) -> Order:
    order = shop.draft(**fields)
    send_order(order=order, actor=shop.dispenser(), version=order.version)
    return stored(order)


def post(name: str, thing: Any, who: str = "ravi", **data: Any) -> Answer:
    """Post and follow to the page that comes of it."""
    return signed_in(who).post(reverse(name, args=[thing.public_id]), data, follow=True)


def send(order: Order, who: str = "ravi", **data: Any) -> Any:
    return post("order-send", order, who, **({"version": stored(order).version} | data))


def test_the_page_before_sending_says_all_that_will_leave_and_how_it_goes() -> None:
    order = shop.draft(remarks="Mind the bridge")
    html = text_of(signed_in("ravi").get(reverse("order-send", args=[order.public_id])))
    for said in ("orders@quay-street.invalid", "Mind the bridge", "Single vision", "−2.25", "<svg"):
        assert said in html
    assert "disabled" not in html.split("Send to Quay Street Lab")[0].rsplit("<button", 1)[1]


def test_an_order_is_sent_once_and_its_record_says_so() -> None:
    order = shop.draft()
    html = text_of(send(order))
    assert f"Order {order.number} is signed off and waits to leave for {order.lab}" in html
    assert "Waiting to be sent" in html
    assert stored(order).state == "sent"
    assert there(stored(order).sent_by).username == "ravi"
    again = text_of(send(order, version=1))
    assert f"<h1>Order {order.number}</h1>" in again
    assert OrderDocument.objects.count() == 1


def test_open_findings_keep_an_order_here_and_are_listed() -> None:
    person = shop.patient()
    wide = shop.frame(a_mm=62, b_mm=48, dbl_mm=22, ed_mm=66)
    order = shop.draft(frame=wide, fitting=shop.fitting(person, wide, height_mm_right=25, height_mm_left=25))
    page = text_of(signed_in("ravi").get(reverse("order-send", args=[order.public_id])))
    assert "disabled" in page.split("Send to Quay Street Lab")[0].rsplit("<button", 1)[1]
    html = text_of(send(order))
    assert "blank" in html
    assert "Send order" in html
    assert stored(order).state == "draft"


@pytest.mark.parametrize("lab", [None, "without a catalogue"])
def test_without_lab_or_catalogue_the_page_says_what_is_missing(lab: str | None) -> None:
    bare = None if lab is None else type(shop.lab()).objects.create(name="Bare Lab")
    order = shop.draft(lab=bare)
    html = text_of(send(order))
    assert ("Choose the lab" if bare is None else "Bare Lab has no catalogue here yet") in html
    assert stored(order).state == "draft"


def test_who_sends_on_top_of_another_persons_save_is_told() -> None:
    order = shop.draft()
    save_draft(order=stored(order), actor=shop.dispenser(), version=1, fields={"remarks": "Changed"})
    html = text_of(send(order, version=1))
    assert "Dana Okafor changed this order in the meantime. Nothing was done" in html
    assert stored(order).state == "draft"


@pytest.mark.parametrize("version", ["", "none", "9" * 40])
def test_a_version_that_is_none_sends_nothing(version: str) -> None:
    order = shop.draft()
    assert send(order, version=version).status_code == 200
    assert stored(order).state == "draft"


def test_a_lab_without_an_address_gets_its_order_by_hand() -> None:
    lab = shop.lab("Paper Lab", email="")
    html = text_of(send(shop.draft(lab=lab)))
    delivery = Delivery.objects.get()
    assert "Passed on to the lab" in html
    html = text_of(post("delivery-passed-on", delivery))
    delivery.refresh_from_db()
    assert delivery.state == "sent"
    assert "Passed on to the lab</button>" not in html


def test_the_downloads_are_the_exact_bytes_that_were_stored() -> None:
    order = sent()
    document = order.documents.get()
    for name, content, kind in (
        ("order-pdf", bytes(document.pdf), "application/pdf"),
        ("order-json", document.text.encode(), "application/json"),
    ):
        answer = signed_in("dora").get(reverse(name, args=[document.public_id]))
        assert answer.content == content
        assert answer.headers["Content-Type"] == kind
        suffix = kind.rpartition("/")[2]
        assert answer.headers["Content-Disposition"] == f'attachment; filename="{order.number}-1.{suffix}"'
        assert answer.headers["Cache-Control"] == "private, no-store"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert json.loads(document.text)["number"] == order.number


def test_cancelling_needs_a_reason_and_stays_on_the_record() -> None:
    order = sent()
    assert "Say why the order is cancelled" in text_of(post("order-cancel", order, reason=" "))
    html = text_of(post("order-cancel", order, reason="Patient moved away"))
    assert f"Order {order.number} is cancelled" in html
    assert "Patient moved away" in html
    assert stored(order).state == "cancelled"
    assert Delivery.objects.get().state == "withheld"
    assert "An order that is cancelled cannot be cancelled" in text_of(post("order-cancel", order, reason="Again"))


def test_changing_a_sent_order_draws_up_a_revision_that_replaces_it_once_sent() -> None:
    order = sent()
    post("order-amend", order)
    revision = Order.objects.get(number=order.number, revision=2)
    assert "already being drawn up" in text_of(post("order-amend", order))
    assert "revision 2" in text_of(send(revision))
    assert stored(order).state == "superseded"
    assert "Replaced by" in page_of(order)
    assert "cannot be superseded" in text_of(post("order-amend", order))


def test_what_happened_is_noted_by_any_role_and_moves_the_pair() -> None:
    order, bystander = shop.brought_to("on the way"), shop.brought_to("on the way")
    html = text_of(post("order-event", order, "dora", kind="received", note="Case scratched"))
    assert "Case scratched" in html
    assert "In, to be checked" in html
    assert stored(order).place == "in, to be checked"
    assert there(order.events.get(kind="received").actor).username == "dora"
    assert stored(bystander).place == "on the way"
    assert not bystander.events.filter(kind="received").exists()


def test_what_the_lab_asks_stands_first_and_is_answered_where_it_stands() -> None:
    order, bystander = shop.brought_to("at the lab"), shop.brought_to("at the lab")
    for one, said in ((order, "Which segment?"), (bystander, "Which tint?")):
        record_event(order=one, kind=EventKind.QUERY, actor=shop.dispenser(), note=said)
    html = page_of(order)
    assert html.index("Which segment?") < html.index("Prescribed, ordered")
    assert "Which tint?" not in html
    told = {"kind": "answer", "answers_the_question": "1"}
    page = post("order-event", order, **told, note=" ")
    assert list(page.context["answer_form"].errors) == ["note"]
    assert not page.context["event_form"].errors
    assert stored(order).place == "query to answer"
    assert '<h2 id="question-title">' not in text_of(post("order-event", order, **told, note="The 28 mm one"))
    assert order.events.get(kind="answer").note == "The 28 mm one"
    assert stored(order).place == "at the lab"
    assert stored(bystander).place == "query to answer"


def test_an_event_with_something_wrong_stands_again_as_it_was_typed() -> None:
    order = shop.brought_to("at the lab")
    typed = {"kind": "delayed", "note": "Coating line down", "promised_on": "31/31/2026", "job_number": "L-9"}
    page = post("order-event", order, **typed)
    form = page.context["event_form"]
    assert list(form.errors) == ["promised_on"]
    assert {name: form[name].value() for name in typed} == typed
    assert "received" in offered(order)
    assert [kind for kind, _ in form.fields["kind"].choices] == offered(order)
    assert not page.context["answer_form"].is_bound
    assert not order.events.filter(kind="delayed").exists()


def offered(order: Order, who: str = "ravi") -> list[str]:
    """What the record offers to add."""
    select = page_of(order, signed_in(who)).split('name="kind"')[1].split("</select>")[0]
    return re.findall(r'<option value="([^"]*)"', select)


@pytest.mark.parametrize(
    ("place", "may", "buttons"),
    [
        ("sent", ["accepted", "query", "delayed", "dispatched", "received", "refused", "note"], "change, cancel"),
        ("on the way", ["received", "delayed", "dispatched", "note"], "change, cancel"),
        ("in, to be checked", ["passed", "note"], "change, cancel"),
        ("ready to collect", ["patient told", "message left", "note"], "change, cancel"),
        ("handed over", ["note"], ""),
        ("cancelled", ["note"], ""),
        ("superseded", ["note"], ""),
    ],
)
def test_the_record_offers_only_what_may_happen_next(place: str, may: list[str], buttons: str) -> None:
    order = shop.brought_to(place)
    assert offered(order) == may
    html = page_of(order)
    found = [name for name, mark in (("change", "amend-order"), ("cancel", "cancel-order")) if mark in html]
    assert ", ".join(found) == buttons


def test_the_record_of_a_draft_and_of_an_order_the_lab_has_not_got_offers_a_note() -> None:
    draft, waiting = shop.draft(), sent()
    assert offered(draft, "dora") == ["note"]
    assert offered(waiting) == ["note"]
    assert "The lab has not got this order yet" in page_of(waiting)
    Delivery.objects.update(state="sent")
    assert "received" in offered(waiting)
    answered = shop.brought_to("at the lab")
    shop.delivery(answered, "queued")
    for order in (draft, waiting, answered):
        assert "The lab has not got this order yet" not in page_of(order, signed_in("dora"))


@pytest.mark.parametrize(("place", "kind"), [("draft", "received"), ("cancelled", "received"), ("sent", "passed")])
def test_what_cannot_follow_is_refused_with_what_can(place: str, kind: str) -> None:
    order = shop.brought_to(place)
    html = text_of(post("order-event", order, "ravi", kind=kind))
    assert f"This order is at “{place}”" in html
    assert "What can be noted now" in html
    assert not order.events.filter(kind=kind).exists()


def test_a_pair_that_was_handed_over_is_neither_changed_nor_cancelled() -> None:
    order, bystander = shop.brought_to("handed over"), shop.brought_to("ready to collect")
    assert "it cannot be superseded" in text_of(post("order-amend", order))
    assert "it cannot be cancelled" in text_of(post("order-cancel", order, reason="Too late"))
    assert stored(order).state == "sent"
    assert not Order.objects.filter(revision=2).exists()
    post("order-amend", bystander)
    assert Order.objects.get(revision=2).number == bystander.number


def test_a_revision_does_not_replace_a_pair_that_was_handed_over_meanwhile() -> None:
    order, bystander = sent(), sent(patient=shop.patient("P-90022"))
    Delivery.objects.update(state="sent")
    for one in (order, bystander):
        post("order-amend", one)
    for kind in ("received", "passed", "handed over"):
        record_event(order=order, kind=EventKind(kind), actor=shop.dispenser())
    revision, other = (Order.objects.get(number=one.number, revision=2) for one in (order, bystander))
    assert "Revision 1 was handed over meanwhile" in text_of(send(revision))
    assert (stored(order).place, stored(revision).state) == ("handed over", "draft")
    assert not revision.documents.exists()
    send(other)
    assert (stored(bystander).state, stored(other).state) == ("superseded", "sent")


@pytest.mark.parametrize("kind", ["sent", "superseded", "", "lost"])
def test_what_only_the_program_notes_cannot_be_noted_by_hand(kind: str) -> None:
    order = sent()
    before = order.events.count()
    post("order-event", order, kind=kind)
    assert order.events.count() == before


@pytest.mark.parametrize("kind", ["handed over", "returned", "conceded", "our mistake", "complaint", "repaired"])
def test_what_needs_more_than_a_note_is_not_noted_with_one(kind: str) -> None:
    order = shop.brought_to("handed over" if kind in ("complaint", "repaired") else "in, to be checked")
    before = order.events.count()
    post("order-event", order, kind=kind)
    assert order.events.count() == before


def test_a_failed_delivery_is_sent_again_or_held_back_by_hand() -> None:
    order = sent()
    Delivery.objects.update(state="failed", problem="The lab's server refused the address.")
    html = page_of(order)
    assert "The lab&#x27;s server refused the address." in html
    assert "Send again" in html
    delivery = Delivery.objects.get()
    assert "is put back into the outbox" in text_of(post("delivery-retry", delivery))
    delivery.refresh_from_db()
    assert delivery.state == "queued"
    assert "is held back" in text_of(post("delivery-withhold", delivery))
    delivery.refresh_from_db()
    assert delivery.state == "withheld"
    assert AuditEvent.objects.filter(verb="delivery.withhold").count() == 1


def test_the_record_tells_every_change_of_a_delivery_with_who_and_why() -> None:
    order, bystander = sent(), sent(patient=shop.patient("P-90023"))
    delivery, other = (one.documents.get().deliveries.get() for one in (order, bystander))
    withhold_delivery(delivery=other, actor=person("ines"), reason="Not told here")
    withhold_delivery(delivery=delivery, actor=person("ravi"), reason="The frame is not chosen yet.")
    retry_delivery(delivery=delivery, actor=person("ines"))
    post("order-cancel", order, reason="Patient moved away")
    told = page_of(order).split("What happened to it (3)")[1].split("</ul>")[0]
    rows = [" ".join(re.sub(r"<[^>]*>", " ", row).split()) for row in told.split("<li>")[1:]]
    assert [row.split(": ", 1)[1] for row in rows] == [
        "Held back by Ravi Castellan . The frame is not chosen yet.",
        "Put back into the outbox by Ines Holloway .",
        "No longer needed by Ravi Castellan . The order was cancelled.",
    ]


def test_a_cancelled_order_is_not_offered_to_be_sent_again() -> None:
    order, bystander = sent(), sent(patient=shop.patient("P-90023"))
    post("order-cancel", order, reason="Patient moved away")
    delivery = order.documents.get().deliveries.get()
    assert "Send again" not in page_of(order)
    assert "it is not sent again" in text_of(post("delivery-retry", delivery))
    delivery.refresh_from_db()
    assert delivery.state == "withheld"
    assert bystander.documents.get().deliveries.get().state == "queued"


def test_an_order_the_lab_already_has_is_not_sent_again() -> None:
    order = sent()
    Delivery.objects.update(state="unknown", problem="Ask the lab whether it arrived.")
    assert "The lab has it" in page_of(order)
    assert "Noted: the lab has the order." in text_of(post("delivery-arrived", Delivery.objects.get()))
    assert Delivery.objects.get().state == "sent"
    assert "Send again" not in page_of(order)


def test_a_mail_refused_for_its_address_goes_to_the_corrected_one() -> None:
    order = sent()
    wrong = Delivery.objects.get().address
    Delivery.objects.update(state="failed", problem="The mail server refused the message: 550 no such user")
    Lab.objects.update(email="orders@quay-street.example")
    assert "orders@quay-street.example" in text_of(post("delivery-retry", Delivery.objects.get()))
    assert Delivery.objects.get().address == "orders@quay-street.example"
    assert AuditEvent.objects.get(verb="delivery.retry").changes["address"] == [wrong, "orders@quay-street.example"]
    assert order.documents.count() == 1


def test_a_delivery_that_went_out_meanwhile_is_not_held_back() -> None:
    sent()
    Delivery.objects.update(state="sent")
    html = text_of(post("delivery-withhold", Delivery.objects.get()))
    assert "Look at it again" in html


def test_the_record_says_what_the_check_found_then_and_shows_what_was_sent() -> None:
    order = sent(remarks="As sent")
    Order.objects.filter(pk=order.pk).update(remarks="Changed by force")
    html = page_of(order)
    assert "As sent" in html
    assert "Changed by force" not in html
    assert "<svg" in html


def test_the_record_of_a_draft_speaks_of_now() -> None:
    order = shop.draft(other_pair=None, frame_source="")
    html = page_of(order, signed_in("dora"))
    assert "when it was sent" not in html


def test_the_record_asks_the_database_the_same_few_questions_however_much_happened(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    order = sent()
    client = signed_in("ines")
    for _ in range(8):
        record_event(order=order, kind=EventKind.NOTE, actor=shop.dispenser(), note="Again")
    client.get(reverse("order-page", args=[order.public_id]))  # The first look at a record is noted with more of them.
    with django_assert_max_num_queries(24):
        client.get(reverse("order-page", args=[order.public_id]))
