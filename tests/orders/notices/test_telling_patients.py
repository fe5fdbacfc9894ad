"""Notices from the press to the patient: consent, hours, the outbox, and what is on the record afterwards."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterator
from datetime import datetime, timedelta
from functools import partial
from typing import Any

import pytest
from django.core import mail
from django.db import DatabaseError, transaction
from django.utils import timezone
from pytest_django import Settings

from dispensing.models import AuditEvent, Patient, Practice
from orders.models import Delivery, Notice, NoticeSettings, Order, OrderEvent
from orders.models.deliveries import Channel
from orders.notices.wording import Kind
from orders.sending import outbox, worker
from orders.sending.by_hand import reroute_delivery, retry_delivery
from orders.sending.channels import SENDERS, sms
from orders.services.cancelling import cancel_order
from orders.services.notices import NoticeRefused, drafted, send_automatic, send_notice
from orders.stuck import stuck
from tests.orders import shop
from tests.orders.sending.receivers import Receiver, receiving
from tests.people import person

pytestmark = pytest.mark.django_db
# A sender works outside any transaction.
sends = pytest.mark.django_db(transaction=True)

MOBILE = "07400 123456"
DAYTIME = timezone.make_aware(datetime(2026, 11, 27, 11))  # A Friday.
NIGHT = timezone.make_aware(datetime(2026, 11, 27, 23))


@pytest.fixture(autouse=True)
def _never_quiet(db: None) -> None:
    """The tests run at any hour; those about the hours set them."""
    rules = NoticeSettings.current()
    NoticeSettings.objects.filter(pk=rules.pk).update(quiet_until=rules.quiet_from, quiet_days=[])
    shop.practice()
    Practice.objects.update(phone="01632 960100")


@pytest.fixture
def gateway(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> Iterator[Receiver]:
    with receiving() as receiver:
        settings.SMS_GATEWAY_URL, settings.SMS_GATEWAY_KEY = receiver.url, "the-key"
        settings.LABS_ON_THIS_MACHINE = True
        monkeypatch.setitem(SENDERS, "sms", partial(sms.send, seconds=2))
        yield receiver


def ready(place: str = "checked, patient not told", reference: str = "P-90001", **agreed: Any) -> Order:
    """A pair that waits here; the patient agreed to both ways unless told otherwise."""
    patient = shop.patient(reference)
    given = {"email": "asa@lindqvist.invalid", "phone": MOBILE, "notices_by_email": True, "notices_by_text": True}
    Patient.objects.filter(pk=patient.pk).update(**given | agreed)
    order = shop.brought_to(place, shop.draft(patient=Patient.objects.get(pk=patient.pk)))
    shop.delivery(order, state="sent")
    return Order.objects.select_related("patient").get(pk=order.pk)


def press(order: Order, kind: Kind = Kind.READY, channel: Channel = Channel.EMAIL, **also: Any) -> Notice:
    return send_notice(order=order, kind=kind, channel=channel, actor=person("dora"), **also)


def fate(notice: Notice) -> tuple[str, str]:
    delivery = Delivery.objects.get(pk=notice.delivery_id)
    return delivery.state, delivery.problem


@sends
def test_a_mail_says_that_the_pair_is_ready_and_the_order_says_that_the_patient_was_told() -> None:
    order, other = ready(), ready(reference="P-90002")
    notice = press(order)
    assert Order.objects.get(pk=order.pk).place == "checked, patient not told", "waiting is not told"
    assert worker.send_due() == 1
    (sent,) = mail.outbox
    assert (sent.to, sent.subject) == (["asa@lindqvist.invalid"], "Your spectacles are ready")
    said = f"your spectacles (order {order.number}) are ready to be collected."
    assert sent.body == f"Dear Åsa Lindqvist,\n\n{said}\n\nHarbour Lane Opticians\n01632 960100"
    assert fate(notice) == ("sent", "")
    event = OrderEvent.objects.filter(order=order).order_by("-pk")[0]
    assert (event.kind, event.note, event.actor) == (
        "patient told",
        "The pair is ready: told by e-mail",
        person("dora"),
    )
    assert Order.objects.get(pk=order.pk).place == "ready to collect"
    assert Order.objects.get(pk=other.pk).place == "checked, patient not told"
    trail = AuditEvent.objects.get(verb="notice.send")
    assert (trail.patient, trail.changes["to"]) == (order.patient, [None, "asa@lindqvist.invalid"])


@sends
def test_a_text_goes_to_the_gateway_with_number_and_key(gateway: Receiver) -> None:
    notice = press(ready(), channel=Channel.SMS)
    worker.send_due()
    ((headers, body),) = gateway.posts
    told = json.loads(body)
    assert (told["to"], told["key"]) == ("+447400123456", str(notice.delivery.public_id))
    assert told["text"].startswith("Your spectacles are ready to be collected. Harbour Lane Opticians")
    assert (headers["authorization"], headers["idempotency-key"]) == ("Bearer the-key", told["key"])
    assert fate(notice) == ("sent", "")


@sends
@pytest.mark.parametrize(
    ("behaviour", "state", "tries"),
    [
        (["500", "200"], "sent", 2),
        (["400"], "failed", 1),
        (["reset after taking"], "unknown", 1),
    ],
)
def test_a_text_is_never_sent_twice_and_never_lost(
    gateway: Receiver, behaviour: list[str], state: str, tries: int
) -> None:
    gateway.behaviour = behaviour
    notice = press(ready(), channel=Channel.SMS)
    for _ in range(3):
        Delivery.objects.filter(state="retry_later").update(next_try_at=timezone.now())
        worker.send_due()
    assert fate(notice)[0] == state
    assert len(gateway.taken) == (0 if state == "failed" else 1)
    assert Delivery.objects.get(pk=notice.delivery_id).attempts_made == tries
    told = OrderEvent.objects.filter(kind="patient told").count()
    assert told == (1 if state == "sent" else 0)


@sends
def test_two_presses_are_one_notice() -> None:
    order, key = ready(), uuid.uuid4()
    assert press(order, key=key) == press(order, key=key)
    worker.send_due()
    assert len(mail.outbox) == 1
    press(order, key=uuid.uuid4())
    worker.send_due()
    assert len(mail.outbox) == 2


@pytest.mark.parametrize(
    ("agreed", "channel", "says"),
    [
        ({"notices_by_email": False}, Channel.EMAIL, "The patient has not agreed to be told by e-mail."),
        ({"notices_by_text": False}, Channel.SMS, "The patient has not agreed to be told by text message."),
        ({"may_be_contacted": False}, Channel.EMAIL, "The patient does not want to be contacted about orders."),
        ({"email": ""}, Channel.EMAIL, "There is no e-mail address on record."),
        ({"phone": ""}, Channel.SMS, "There is no phone number on record."),
        ({"phone": "12345"}, Channel.SMS, "“12345” is not a phone number that is in use (GB)."),
        ({"phone": "020 7946 0018"}, Channel.SMS, "“020 7946 0018” takes no text messages"),
        ({}, Channel.API, "The patient has not agreed to be told by api."),
    ],
)
def test_without_consent_or_address_nothing_is_sent_and_it_is_said(
    gateway: Receiver, agreed: dict[str, Any], channel: Channel, says: str
) -> None:
    before = Delivery.objects.count() + 1
    order = ready(**agreed)
    with pytest.raises(NoticeRefused) as refused:
        press(order, channel=channel)
    assert str(refused.value).startswith(says)
    assert (Delivery.objects.count(), Notice.objects.count()) == (before, 0)


def test_no_gateway_is_said() -> None:
    with pytest.raises(NoticeRefused, match="No gateway for text messages is set up here"):
        press(ready(), channel=Channel.SMS)


@pytest.mark.parametrize(
    ("place", "kinds"),
    [
        ("at the lab", {Kind.DELAYED}),
        ("checked, patient not told", {Kind.READY}),
        ("ready to collect", {Kind.READY, Kind.REMINDER}),
        ("handed over", set()),
        ("cancelled", set()),
    ],
)
def test_only_what_is_true_is_told(place: str, kinds: set[Kind]) -> None:
    order = ready(place)
    Order.objects.filter(pk=order.pk).update(promised_on="2026-12-09")
    order.refresh_from_db()
    for kind in Kind:
        if kind in kinds:
            assert drafted(order, kind, Channel.EMAIL).address == "asa@lindqvist.invalid"
        else:
            with pytest.raises(NoticeRefused, match="would not be true"):
                drafted(order, kind, Channel.EMAIL)


@sends
def test_a_delay_is_told_with_its_new_day_and_not_without_one() -> None:
    order = ready("at the lab")
    with pytest.raises(NoticeRefused, match=r"There is nothing to put in for .new_day.: the day"):
        press(order, Kind.DELAYED)
    Order.objects.filter(pk=order.pk).update(promised_on="2026-12-09")
    press(order, Kind.DELAYED)
    worker.send_due()
    assert "for 9 December 2026" in mail.outbox[0].body
    event = OrderEvent.objects.filter(order=order).order_by("-pk")[0]
    assert (event.kind, event.note) == ("note", "The pair comes later: told by e-mail")
    assert Order.objects.get(pk=order.pk).place == "at the lab"


@sends
@pytest.mark.parametrize(
    ("meanwhile", "says"),
    [
        ({"notices_by_email": False}, "has not agreed"),
        ({"email": "other@lindqvist.invalid"}, "address changed"),
        ({"email": ""}, "no e-mail address"),
    ],
)
def test_consent_taken_back_while_it_waits_holds(meanwhile: dict[str, Any], says: str) -> None:
    order = ready()
    notice = press(order)
    Patient.objects.filter(pk=order.patient_id).update(**meanwhile)
    worker.send_due()
    state, problem = fate(notice)
    assert (state, mail.outbox) == ("withheld", [])
    assert says in problem
    assert not OrderEvent.objects.filter(kind="patient told").exists()


@sends
@pytest.mark.parametrize("channel", [Channel.EMAIL, Channel.SMS])
def test_no_way_is_even_asked_to_send_what_is_no_longer_wanted(gateway: Receiver, channel: Channel) -> None:
    order, other = ready(), ready(reference="P-90002")
    notice, wanted = press(order, channel=channel), press(other, channel=channel)
    Patient.objects.filter(pk=order.patient_id).update(notices_by_email=False, notices_by_text=False)
    asked: list[int] = []

    def sender(delivery: Delivery) -> str:
        asked.append(delivery.pk)
        return "taken"

    worker.send_due(senders={"email": sender, "sms": sender})
    assert asked == [wanted.delivery_id]
    assert (fate(notice)[0], fate(wanted)[0]) == ("withheld", "sent")


@sends
def test_a_pair_collected_or_withdrawn_while_the_notice_waits_is_not_announced() -> None:
    collected, cancelled = ready(), ready(reference="P-90002")
    notices = [press(collected), press(cancelled)]
    Order.objects.filter(pk=collected.pk).update(place="handed over")
    cancel_order(order=cancelled, actor=person("ravi"), reason="Not wanted")
    worker.send_due()
    assert [fate(notice)[0] for notice in notices] == ["withheld", "withheld"]
    assert mail.outbox == []


def test_at_night_it_waits_for_the_morning_and_a_lab_does_not(monkeypatch: pytest.MonkeyPatch) -> None:
    order = ready()
    NoticeSettings.objects.update(quiet_from="20:00", quiet_until="08:00")
    assert timezone.localtime(drafted(order, Kind.READY, Channel.EMAIL, NIGHT).leaves_at).hour == 8
    notice = press(order)
    to_lab = shop.delivery(order)
    Delivery.objects.filter(state="queued").update(next_try_at=DAYTIME - timedelta(hours=1))
    assert outbox.claim_next(NIGHT) == to_lab
    assert outbox.claim_next(NIGHT) is None
    assert outbox.claim_next(DAYTIME) == notice.delivery


def test_what_is_for_patients_is_not_counted_as_stuck_on_its_way_to_a_lab() -> None:
    notice = press(ready())
    Delivery.objects.filter(pk=notice.delivery_id).update(state="failed")
    found = stuck()
    assert (found.failed, found.waiting, found.unknown) == (0, 0, 0)
    delivery = Delivery.objects.get(pk=notice.delivery_id)
    with pytest.raises(ValueError, match="This way is not set up"):
        reroute_delivery(delivery=delivery, actor=person("ravi"), channel="email")
    retry_delivery(delivery=delivery, actor=person("ravi"))
    assert (delivery.state, delivery.address) == ("queued", "asa@lindqvist.invalid")


def test_a_notice_is_on_the_record_as_it_was_worded() -> None:
    notice = press(ready())
    with pytest.raises(DatabaseError, match="cannot be changed"), transaction.atomic():
        Notice.objects.filter(pk=notice.pk).update(text="Something else")
    assert Notice.objects.get(pk=notice.pk).text == notice.text


def test_nothing_goes_by_itself_unless_the_practice_has_it_so() -> None:
    order = ready()
    OrderEvent.objects.create(order=order, kind="passed", at=DAYTIME)
    assert send_automatic(DAYTIME) == 0
    NoticeSettings.objects.update(automatic=["ready"])
    assert send_automatic(DAYTIME - timedelta(hours=1)) == 0, "before it happened"
    NoticeSettings.objects.update(quiet_from="20:00", quiet_until="08:00", quiet_days=[5, 6])
    assert (send_automatic(DAYTIME), send_automatic(DAYTIME)) == (1, 0)
    assert Notice.objects.get().asked_by is None


def test_what_happened_before_a_quiet_weekend_is_not_forgotten_and_old_news_is_none() -> None:
    passed = OrderEvent.objects.get(order=ready(), kind="passed").at
    NoticeSettings.objects.update(automatic=["ready"])
    assert send_automatic(passed + timedelta(days=7)) == 0
    assert send_automatic(passed + timedelta(days=6.9)) == 1


def test_by_itself_it_goes_by_the_first_way_agreed_to_and_to_nobody_else(gateway: Receiver) -> None:
    by_text = ready(notices_by_email=False)
    nobody = ready(reference="P-90002", notices_by_email=False, notices_by_text=False)
    for order in (by_text, nobody):
        OrderEvent.objects.create(order=order, kind="passed", at=DAYTIME)
    NoticeSettings.objects.update(automatic=["ready"])
    assert send_automatic(DAYTIME) == 1
    assert Notice.objects.get().delivery.channel == "sms"
    assert Notice.objects.get().patient == by_text.patient


def test_those_who_cannot_be_told_are_not_in_the_way_of_those_who_can(monkeypatch: pytest.MonkeyPatch) -> None:
    NoticeSettings.objects.update(automatic=[str(Kind.READY)])
    monkeypatch.setattr("orders.services.notices.AT_ONCE", 1)
    ready(notices_by_email=False, notices_by_text=False)
    ready(reference="P-90002", email="", notices_by_text=False)
    ready(reference="P-90005", may_be_contacted=False)
    first, second = ready(reference="P-90003"), ready(reference="P-90004")
    now = timezone.now() + timedelta(minutes=1)
    assert [send_automatic(now) for _ in range(3)] == [1, 1, 0]
    assert list(Notice.objects.order_by("pk").values_list("patient", flat=True)) == [
        first.patient_id,
        second.patient_id,
    ]


@sends
def test_a_reminder_goes_once_after_the_days_set_and_old_news_is_none() -> None:
    order = ready("ready to collect")
    told = OrderEvent.objects.filter(order=order, kind="patient told").order_by("-pk")[0]
    NoticeSettings.objects.update(automatic=["reminder", "ready"], remind_after=7)
    days = timedelta(days=1)
    assert send_automatic(told.at + 6.9 * days) == 0
    assert send_automatic(told.at + 7 * days) == 1
    assert Notice.objects.get().kind == "reminder"
    worker.send_due()
    assert OrderEvent.objects.filter(order=order).order_by("-pk")[0].note.startswith("Reminder")
    assert send_automatic(timezone.now() + 7 * days) == 0, "being reminded is no reason to be reminded again"
    other = ready("ready to collect", reference="P-90002")
    assert send_automatic(timezone.now() + 15 * days) == 0, other
