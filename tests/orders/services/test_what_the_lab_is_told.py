"""What a lab is told besides the order: not to make it, and our answer; by which way, and by another if that fails."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from django.core import mail
from django.urls import reverse
from pytest_django import Settings

from dispensing.models import AuditEvent
from orders.models import Delivery, Lab, Order
from orders.progress import EventKind
from orders.sending import worker
from orders.sending.by_hand import reroute_delivery
from orders.sending.messages import key_of, text_of
from orders.services.amending import amend_order
from orders.services.cancelling import cancel_order
from orders.services.deliveries import DeliveryMoved, NotInForce
from orders.services.events import record_event
from orders.services.sending import send_order
from orders.services.ways_out import way_of, ways_of
from tests.known import there
from tests.orders import shop
from tests.people import signed_in

pytestmark = pytest.mark.django_db(transaction=True)
REASON = "Patient keeps the old pair"
FROM = "from Harbour Lane Opticians, account 4711"


def sent(state: str = "sent", **fields: Any) -> Order:
    order = shop.draft(**fields)
    document = send_order(order=order, actor=shop.dispenser(), version=1)
    Delivery.objects.filter(document=document).update(state=state)
    return Order.objects.get(pk=order.pk)


def messages(order: Order) -> list[tuple[str, str]]:
    rows = Delivery.objects.filter(document__order=order).order_by("pk")
    return list(rows.values_list("message", "state"))


@pytest.mark.parametrize("state", ["sent", "unknown", "sending"])
def test_a_lab_that_has_a_cancelled_order_or_may_have_it_is_told(state: str) -> None:
    order, beside = sent(state), sent(patient=shop.patient("P-90031"))
    cancel_order(order=order, actor=shop.dispenser(), reason=REASON)
    assert messages(order) == [("order", state), ("withdrawal", "queued")]
    assert messages(beside) == [("order", "sent")]


@pytest.mark.parametrize(
    ("state", "after"), [("queued", "withheld"), ("retry_later", "withheld"), ("failed", "failed")]
)
def test_a_lab_that_never_got_it_is_told_nothing(state: str, after: str) -> None:
    order = sent(state)
    cancel_order(order=order, actor=shop.dispenser(), reason=REASON)
    assert messages(order) == [("order", after)]


def test_a_lab_that_may_have_it_from_an_earlier_try_or_has_answered_is_told() -> None:
    unclear, answered = sent("retry_later"), sent("queued", patient=shop.patient("P-90031"))
    Delivery.objects.filter(document__order=unclear).update(unclear=True)
    Delivery.objects.filter(document__order=answered).update(state="sent")
    record_event(order=answered, kind=EventKind.ACCEPTED, actor=shop.dispenser())
    Delivery.objects.filter(document__order=answered).update(state="failed")
    for order in (unclear, answered):
        cancel_order(order=order, actor=shop.dispenser(), reason=REASON)
        assert messages(order)[-1] == ("withdrawal", "queued")


def test_a_pair_that_has_come_in_is_past_withdrawing_and_one_sent_back_is_not() -> None:
    here, back = sent(), sent(patient=shop.patient("P-90031"))
    for order, kinds in ((here, ("received",)), (back, ("received", "returned"))):
        for kind in kinds:
            record_event(order=order, kind=EventKind(kind), actor=shop.dispenser())
        cancel_order(order=order, actor=shop.dispenser(), reason=REASON)
    assert messages(here) == [("order", "sent")]
    assert messages(back) == [("order", "sent"), ("withdrawal", "queued")]


def test_a_cancelled_draft_is_nobodys_business() -> None:
    order = shop.draft()
    cancel_order(order=order, actor=shop.dispenser(), reason=REASON)
    assert messages(order) == []


def test_the_lab_reads_do_not_make_it_and_nothing_of_why(mailoutbox: list[Any]) -> None:
    practice = shop.practice()
    practice.email = "desk@harbour-lane.invalid"
    practice.save()
    order = sent()
    cancel_order(order=order, actor=shop.dispenser(), reason=REASON)
    worker.send_due()
    (told,) = mailoutbox
    assert told.subject == f"DO NOT MAKE lens order {order.number}, revision 1, {FROM}"
    assert f"Do not make lens order {order.number}, revision 1: it is cancelled." in told.body
    assert told.reply_to == ["desk@harbour-lane.invalid"]
    assert "answer this mail to say that you know" in told.body
    assert REASON not in told.body
    assert not told.attachments


def test_a_new_revision_withdraws_the_one_before_and_names_its_successor(mailoutbox: list[Any]) -> None:
    order = sent()
    revision = amend_order(order=order, actor=shop.dispenser())
    send_order(order=revision, actor=shop.dispenser(), version=1)
    assert messages(order) == [("order", "sent"), ("withdrawal", "queued")]
    assert messages(revision) == [("order", "queued")]
    worker.send_due()
    (withdrawal,) = [one for one in mailoutbox if one.subject.startswith("DO NOT MAKE")]
    assert withdrawal.subject == f"DO NOT MAKE lens order {order.number}, revision 1, {FROM}"
    assert "it is replaced by revision 2." in withdrawal.body


def test_posted_it_asks_for_an_acknowledgement_under_a_key_of_its_own() -> None:
    order = sent()
    cancel_order(order=order, actor=shop.dispenser(), reason=REASON)
    first, withdrawal = Delivery.objects.filter(document__order=order).order_by("pk")
    told = json.loads(text_of(withdrawal))
    assert (told["type"], told["data"]["because"], told["data"]["acknowledge"]) == (
        "lens_order.withdrawn",
        "cancelled",
        True,
    )
    assert "document" not in told["data"]
    assert REASON not in text_of(withdrawal)
    assert key_of(first) != key_of(withdrawal)


def test_our_answer_goes_to_the_lab_that_asked_and_to_no_other(mailoutbox: list[Any]) -> None:
    order, beside = sent(), sent(patient=shop.patient("P-90031"))
    for one in (order, beside):
        record_event(order=one, kind=EventKind.QUERY, actor=shop.dispenser(), note="Which frame?")
    record_event(order=order, kind=EventKind.ANSWER, actor=shop.dispenser(), note="The one enclosed.")
    assert messages(order)[1:] == [("answer", "queued")]
    assert messages(beside) == [("order", "sent")]
    worker.send_due()
    (told,) = mailoutbox
    assert told.subject == f"Our answer on lens order {order.number}, revision 1, {FROM}"
    assert "The one enclosed." in told.body


def test_two_answers_to_one_lab_are_two_messages() -> None:
    order = sent()
    for answer in ("The one enclosed.", "And no bevel."):
        record_event(order=order, kind=EventKind.QUERY, actor=shop.dispenser(), note="Which?")
        record_event(order=order, kind=EventKind.ANSWER, actor=shop.dispenser(), note=answer)
    first, second = Delivery.objects.filter(message="answer").order_by("pk")
    assert key_of(first) != key_of(second)
    assert [json.loads(text_of(one))["data"]["answer"] for one in (first, second)] == [
        "The one enclosed.",
        "And no bevel.",
    ]


def test_who_speaks_to_the_lab_himself_need_not_pass_an_answer_on_twice() -> None:
    order = sent()
    Lab.objects.update(way="download")
    record_event(order=order, kind=EventKind.QUERY, actor=shop.dispenser(), note="Which frame?")
    record_event(order=order, kind=EventKind.ANSWER, actor=shop.dispenser(), note="The one enclosed.")
    assert messages(order) == [("order", "sent")]


def test_an_answer_that_waits_is_called_off_with_its_order_and_a_withdrawal_is_not() -> None:
    order = sent()
    record_event(order=order, kind=EventKind.QUERY, actor=shop.dispenser(), note="Which frame?")
    record_event(order=order, kind=EventKind.ANSWER, actor=shop.dispenser(), note="The one enclosed.")
    cancel_order(order=order, actor=shop.dispenser(), reason=REASON)
    assert messages(order) == [("order", "sent"), ("answer", "withheld"), ("withdrawal", "queued")]


# Ways


@pytest.mark.parametrize(
    ("fields", "way"),
    [
        ({"way": "email", "email": "a@lab.example"}, ("email", "a@lab.example")),
        ({"way": "email", "email": ""}, ("download", "")),
        ({"way": "https", "url": "https://lab.example/"}, ("https", "https://lab.example/")),
        ({"way": "folder", "folder": "quay"}, ("folder", "quay")),
        ({"way": "api"}, ("api", "")),
        ({"way": "download", "email": "a@lab.example"}, ("download", "")),
    ],
)
def test_an_order_takes_the_way_of_its_lab(fields: dict[str, str], way: tuple[str, str]) -> None:
    assert way_of(Lab(**fields)) == way


def test_every_way_that_has_its_address_is_open_besides() -> None:
    lab = Lab(way="https", url="https://lab.example/", email="a@lab.example")
    assert list(ways_of(lab)) == ["email", "https", "api", "download"]


@pytest.mark.parametrize("state", ["queued", "retry_later", "failed", "unknown", "withheld"])
def test_a_person_sends_it_another_way_under_the_same_key_and_the_first_way_rests(state: str) -> None:
    order, beside = sent(state), sent(state, patient=shop.patient("P-90031"))
    Lab.objects.update(folder="quay")
    old = Delivery.objects.get(document__order=order)
    new = reroute_delivery(delivery=old, actor=shop.dispenser(), channel="folder")
    assert messages(order) == [("order", "withheld"), ("order", "queued")]
    assert (new.channel, new.address, key_of(new)) == ("folder", "quay", key_of(old))
    assert there(old.attempts.last()).reply == "Sent another way instead: Folder that the lab watches."
    assert messages(beside) == [("order", state)]
    assert AuditEvent.objects.filter(verb="delivery.reroute", actor=shop.dispenser()).count() == 1


def test_what_has_left_is_not_sent_another_way_and_nor_is_a_cancelled_order() -> None:
    order = sent()
    delivery = Delivery.objects.get()
    with pytest.raises(DeliveryMoved):
        reroute_delivery(delivery=delivery, actor=shop.dispenser(), channel="download")
    Delivery.objects.update(state="failed")
    Order.objects.filter(pk=order.pk).update(state="cancelled")
    delivery.refresh_from_db()
    with pytest.raises(NotInForce):
        reroute_delivery(delivery=delivery, actor=shop.dispenser(), channel="download")
    with pytest.raises(ValueError, match="not set up for the lab"):
        reroute_delivery(delivery=delivery, actor=shop.dispenser(), channel="https")
    assert Delivery.objects.count() == 1


def test_on_the_page_another_way_is_offered_and_taken() -> None:
    order = sent("failed")
    page = signed_in("ravi").get(reverse("order-page", args=[order.public_id])).content.decode()
    offered = page.split('name="channel"')[1].split("</select>")[0]
    assert [way in offered for way in ("email", "https", "api", "download")] == [False, False, True, True]
    address = reverse("delivery-reroute", args=[Delivery.objects.get().public_id])
    answer = signed_in("ravi").post(address, {"channel": "download"}, follow=True).content.decode()
    assert "It now goes another way." in answer
    assert Delivery.objects.latest("pk").channel == "download"
    assert "not set up" in signed_in("ravi").post(address, {"channel": "x"}, follow=True).content.decode()


# The watched folder


@pytest.fixture
def folder(settings: Settings, tmp_path: Path) -> Path:
    settings.LABS_FOLDER = tmp_path
    (tmp_path / "quay").mkdir()
    return tmp_path / "quay"


def to_folder(state: str = "queued") -> Delivery:
    shop.lab()
    Lab.objects.update(way="folder", folder="quay")
    return Delivery.objects.get(document__order=sent(state))


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_watched_folder_gets_pdf_and_json_to_the_last_byte_and_no_halves(folder: Path) -> None:
    delivery = to_folder()
    worker.send_due()
    delivery.refresh_from_db()
    document = delivery.document
    assert delivery.state == "sent"
    assert names(folder) == [f"{document.number}-1.json", f"{document.number}-1.pdf"]
    assert (folder / f"{document.number}-1.json").read_bytes() == document.text.encode()
    assert (folder / f"{document.number}-1.pdf").read_bytes() == bytes(document.pdf)


def test_a_file_appears_whole_or_not_at_all(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    delivery = to_folder()

    def power_cut(*paths: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", power_cut)
    worker.send_due()
    delivery.refresh_from_db()
    assert (delivery.state, names(folder)) == ("retry_later", [])
    assert "No space left on device" in delivery.problem


def test_what_is_there_already_is_not_written_again_and_another_file_is_left_alone(folder: Path) -> None:
    delivery = to_folder()
    name = f"{delivery.document.number}-1.pdf"
    (folder / name).write_bytes(bytes(delivery.document.pdf))
    worker.send_due()
    delivery.refresh_from_db()
    assert delivery.state == "sent"
    (folder / name).write_bytes(b"something else")
    Delivery.objects.update(state="queued")
    worker.send_due()
    delivery.refresh_from_db()
    assert delivery.state == "failed"
    assert name in delivery.problem
    assert (folder / name).read_bytes() == b"something else"


def test_a_folder_that_is_not_mounted_is_waited_for_and_never_made(folder: Path) -> None:
    delivery = to_folder()
    folder.rmdir()
    worker.send_due()
    delivery.refresh_from_db()
    assert delivery.state == "retry_later"
    assert "is not there" in delivery.problem
    assert not folder.exists()


def test_a_withdrawal_comes_into_the_folder_as_well(folder: Path) -> None:
    delivery = to_folder("sent")
    cancel_order(order=delivery.document.order, actor=shop.dispenser(), reason=REASON)
    worker.send_due()
    (path,) = folder.iterdir()
    assert path.name == f"{delivery.document.number}-1-withdrawal.json"
    assert json.loads(path.read_text())["type"] == "lens_order.withdrawn"
    assert mail.outbox == []
