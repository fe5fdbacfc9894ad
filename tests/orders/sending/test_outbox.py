"""The outbox: claims, leases, results, retries. Mail goes to a real SMTP receiver on loopback."""

from __future__ import annotations

import asyncio
import email
import email.policy
import json
import socket
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session
from django.utils import timezone
from pytest_django import Settings

from dispensing.models import Practice
from orders.delivery_states import DeliveryState
from orders.models import Delivery, Lab
from orders.sending import outbox, worker
from orders.sending.by_hand import retry_delivery, settle_delivery, withhold_delivery
from orders.sending.channels.email import message_id
from orders.sending.retry import DELAYS, delay_after
from orders.services.deliveries import DeliveryMoved
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop


class Receiver:
    """Takes mail like a lab's server. ``answer``: what it says to a message; None takes it."""

    def __init__(self) -> None:
        self.mails: list[Any] = []
        self.answer: str | None = None
        self.connections = 0
        self.there = "250 OK"
        self.after_data: str | None = None

    async def handle_EHLO(
        self, server: SMTP, session: Session, envelope: Envelope, hostname: str, responses: list[str]
    ) -> list[str]:
        self.connections += 1
        session.host_name = hostname
        return responses

    async def handle_NOOP(self, server: SMTP, session: Session, envelope: Envelope, arg: str) -> str:
        return self.there

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        if self.after_data in ("break off", "break off once"):
            if self.after_data == "break off once":
                self.after_data = None
            transport = server.transport
            assert isinstance(transport, asyncio.Transport)
            transport.abort()
            return "421 gone"
        if self.after_data == "hang":
            await asyncio.Event().wait()
        if self.answer:
            return self.answer
        self.mails.append(
            email.message_from_bytes(bytes(envelope.original_content or b""), policy=email.policy.default)
        )
        return "250 taken"


@pytest.fixture
def mail_server(settings: Settings) -> Iterator[Receiver]:
    receiver = Receiver()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    controller = Controller(receiver, hostname="127.0.0.1", port=port)
    controller.start()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", port, 5
    yield receiver
    controller.stop()


@pytest.fixture
def delivery(transactional_db: None) -> Delivery:
    order = shop.draft()
    stored = send_order(order=order, actor=shop.dispenser(), version=order.version)
    return Delivery.objects.get(document=stored)


@pytest.mark.paper
def test_the_lab_gets_pdf_and_json_and_reads_nothing_of_the_patient_in_the_mail(
    delivery: Delivery, mail_server: Receiver
) -> None:
    assert worker.send_due() == 1
    (mail,) = mail_server.mails
    document = delivery.document
    assert mail["Subject"] == f"Lens order {document.number}, revision 1, from Harbour Lane Opticians, account 4711"
    assert mail["Reply-To"] is None, "this practice has no address"
    assert mail["To"] == "orders@quay-street.invalid"
    assert mail["Message-ID"] == message_id(delivery)
    pdf, text = list(mail.iter_attachments())
    assert (pdf.get_content_type(), pdf.get_filename()) == ("application/pdf", f"{document.number}-1.pdf")
    assert pdf.get_content() == bytes(document.pdf)
    assert (text.get_content_type(), text.get_filename()) == ("application/json", f"{document.number}-1.json")
    sent_json = text.get_payload(decode=True)
    assert sent_json == document.text.encode()
    assert json.loads(sent_json)["number"] == document.number
    for word in ("Lindqvist", "P-90001"):
        assert word not in mail["Subject"] + mail.get_body().get_content()
    delivery.refresh_from_db()
    assert (delivery.state, delivery.attempts_made, delivery.leased_until) == ("sent", 1, None)
    assert steps(delivery) == ["claim", "succeed"]


@pytest.mark.parametrize("wants", [True, False])
def test_an_answer_goes_to_the_practice_and_a_lab_that_wants_no_json_gets_the_pdf_alone(
    transactional_db: None, mail_server: Receiver, wants: bool
) -> None:
    shop.practice()
    Practice.objects.update(email="desk@harbour-lane.invalid")
    Lab.objects.filter(pk=shop.lab().pk).update(wants_json=wants)
    other = shop.lab("Another Lab", wants_json=not wants)
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=order.version)
    worker.send_due()
    (mail,) = mail_server.mails
    assert mail["Reply-To"] == "desk@harbour-lane.invalid"
    kinds = [part.get_content_type() for part in mail.iter_attachments()]
    assert kinds == ["application/pdf", "application/json"][: 1 + wants]
    assert ("again beside it" in mail.get_body().get_content()) is wants
    assert Lab.objects.get(pk=other.pk).wants_json is not wants


def steps(delivery: Any) -> list[str]:
    return list(delivery.attempts.values_list("step", flat=True))


@pytest.fixture
def three(transactional_db: None) -> list[Delivery]:
    return [shop.delivery(shop.brought_to("sent"), "queued") for _ in range(3)]


def came(receiver: Receiver) -> list[str]:
    """Which mails came, in order."""
    return [mail["Message-ID"] for mail in receiver.mails]


def test_many_mails_go_by_one_connection_and_a_new_one_after_so_many(
    three: list[Delivery], mail_server: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("orders.sending.channels.email.MAILS_A_CONNECTION", 2)
    worker.send_due()
    assert came(mail_server) == [message_id(one) for one in three]
    assert mail_server.connections == 2
    more = shop.delivery(shop.brought_to("sent"), "queued")
    worker.send_due()
    assert came(mail_server)[3:] == [message_id(more)]
    assert mail_server.connections == 3, "none is kept while nothing is to be sent"


def test_a_server_that_hung_up_between_two_mails_gets_each_of_them_once(
    three: list[Delivery], mail_server: Receiver
) -> None:
    mail_server.there = "421 closing"
    worker.send_due()
    assert came(mail_server) == [message_id(one) for one in three]
    assert mail_server.connections == 3
    assert [steps(one) for one in three] == [["claim", "succeed"]] * 3


def test_a_connection_that_broke_in_one_mail_costs_the_next_ones_nothing(
    three: list[Delivery], mail_server: Receiver
) -> None:
    mail_server.after_data = "break off once"
    worker.send_due()
    assert came(mail_server) == [message_id(one) for one in three[1:]]
    assert [Delivery.objects.get(pk=one.pk).state for one in three] == ["unknown", "sent", "sent"]
    assert mail_server.connections == 2


def test_a_sent_delivery_is_not_sent_again(delivery: Delivery, mail_server: Receiver) -> None:
    worker.send_due()
    assert worker.send_due() == 0
    assert len(mail_server.mails) == 1


def test_a_server_that_is_down_is_tried_again_later(delivery: Delivery, settings: Settings) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    before = timezone.now()
    worker.send_due()
    delivery.refresh_from_db()
    assert delivery.state == "retry_later"
    assert before + DELAYS[0] <= delivery.next_try_at <= timezone.now() + DELAYS[0]
    assert "cannot be reached" in delivery.problem


@pytest.mark.parametrize(
    ("answer", "state"),
    [("550 no such mailbox", DeliveryState.FAILED), ("451 try later", DeliveryState.RETRY_LATER)],
)
def test_a_refusal_is_final_or_passing_as_the_server_says(
    delivery: Delivery, mail_server: Receiver, answer: str, state: Any
) -> None:
    mail_server.answer = answer
    worker.send_due()
    delivery.refresh_from_db()
    assert delivery.state == state
    assert answer in delivery.problem


def test_a_server_that_breaks_off_in_the_middle_leaves_the_result_unknown(
    delivery: Delivery, mail_server: Receiver
) -> None:
    mail_server.after_data = "break off"
    worker.send_due()
    delivery.refresh_from_db()
    assert delivery.state == "unknown"
    assert worker.send_due() == 0, "an unknown delivery waits for a person"


def test_a_server_that_hangs_in_the_middle_leaves_the_result_unknown(
    delivery: Delivery, mail_server: Receiver, settings: Settings
) -> None:
    mail_server.after_data, settings.EMAIL_TIMEOUT = "hang", 1
    worker.send_due()
    delivery.refresh_from_db()
    assert (delivery.state, delivery.unclear) == ("unknown", True)
    assert "it may have arrived" in delivery.problem


def test_a_server_that_refuses_at_first_gets_the_mail_once(delivery: Delivery, mail_server: Receiver) -> None:
    mail_server.answer = "451 try later"
    worker.send_due()
    mail_server.answer = None
    Delivery.objects.update(next_try_at=timezone.now())
    worker.send_due()
    assert steps(delivery) == ["claim", "postpone", "claim", "succeed"]
    assert len(mail_server.mails) == 1


def test_after_the_last_delay_it_has_failed(delivery: Delivery, settings: Settings) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    for _ in range(len(DELAYS) + 1):
        Delivery.objects.update(next_try_at=timezone.now())
        worker.send_due()
    delivery.refresh_from_db()
    assert (delivery.state, delivery.attempts_made) == ("failed", len(DELAYS) + 1)
    assert steps(delivery) == [*["claim", "postpone"] * len(DELAYS), "claim", "give_up"]


def test_the_delays_grow_and_end() -> None:
    assert list(DELAYS) == sorted(DELAYS)
    assert delay_after(len(DELAYS)) == DELAYS[-1]
    assert delay_after(len(DELAYS) + 1) is None
    assert delay_after(len(DELAYS) + 1, DELAYS[0]) is None


@pytest.mark.parametrize(
    ("asked", "waits"),
    [
        (timedelta(seconds=59), DELAYS[0]),
        (timedelta(seconds=61), timedelta(seconds=61)),
        (timedelta(days=1), timedelta(days=1)),
        (timedelta(days=30), timedelta(days=1)),
        (timedelta(seconds=-5), DELAYS[0]),
    ],
)
def test_who_asks_for_more_time_gets_it_up_to_a_day(asked: timedelta, waits: timedelta) -> None:
    assert delay_after(1, asked) == waits


def test_what_has_been_due_longest_goes_first_whatever_its_state_and_way(db: None) -> None:
    now = timezone.now()
    rows = [
        ("queued", "email", -1),
        ("retry_later", "https", -3),
        ("queued", "folder", -2),
        ("queued", "download", -9),
        ("sending", "email", -9),
        ("retry_later", "email", 1),
    ]
    made = [shop.delivery(shop.brought_to("sent"), "queued") for _ in rows]
    for one, (state, channel, minutes) in zip(made, rows):
        due = now + timedelta(minutes=minutes)
        Delivery.objects.filter(pk=one.pk).update(state=state, channel=channel, next_try_at=due)
    claimed = [there(outbox.claim_next(now)).pk for _ in range(3)]
    assert claimed == [made[1].pk, made[2].pk, made[0].pk]
    assert outbox.claim_next(now) is None


def test_one_that_others_took_meanwhile_is_passed_over(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    first, second, third = (shop.delivery(shop.brought_to("sent"), "queued") for _ in range(3))
    seen = outbox._due_longest(timezone.now())
    assert seen == [first.pk, second.pk, third.pk]
    outbox.claim_next(timezone.now())
    outbox.claim_next(timezone.now())
    monkeypatch.setattr(outbox, "_due_longest", lambda now: seen)
    assert outbox.claim_next(timezone.now()) == third
    assert Delivery.objects.get(pk=first.pk).attempts_made == 1


def test_a_worker_that_dies_while_sending_leaves_unknown_and_never_sent(delivery: Delivery) -> None:
    """Claimed, then the process is gone: nothing is recorded. The lease runs out."""
    claimed = outbox.claim_next(timezone.now())
    assert claimed == delivery
    assert outbox.expire_leases(timezone.now()) == 0, "the lease still holds"
    later = timezone.now() + outbox.LEASE + timedelta(seconds=1)
    assert outbox.expire_leases(later) == 1
    delivery.refresh_from_db()
    assert delivery.state == "unknown"
    assert "ask the lab" in delivery.problem
    assert [(row.step, row.outcome) for row in delivery.attempts.all()] == [("claim", "sending"), ("expire", "unknown")]


def test_a_result_that_comes_after_the_lease_ran_out_still_counts(delivery: Delivery) -> None:
    claimed = outbox.claim_next(timezone.now())
    outbox.expire_leases(timezone.now() + outbox.LEASE + timedelta(seconds=1))
    outbox.record_sent(there(claimed), "late but true", timezone.now())
    delivery.refresh_from_db()
    assert delivery.state == "sent"


def test_a_fault_of_our_own_is_recorded_as_unknown_and_not_repeated(delivery: Delivery, settings: Settings) -> None:
    settings.EMAIL_BACKEND = "tests.orders.sending.no_such_backend.EmailBackend"
    worker.send_due()
    delivery.refresh_from_db()
    assert delivery.state == "unknown"
    assert "broke down" in delivery.problem


def test_by_hand_a_delivery_is_tried_again_held_back_or_settled(delivery: Delivery) -> None:
    withhold_delivery(delivery=delivery, actor=shop.dispenser(), reason="Wait for the frame")
    assert worker.send_due() == 0
    retry_delivery(delivery=delivery, actor=shop.dispenser())
    delivery.refresh_from_db()
    assert (delivery.state, delivery.attempts_made) == ("queued", 0)
    withhold_delivery(delivery=delivery, actor=shop.dispenser())
    settle_delivery(delivery=delivery, actor=shop.dispenser(), note="Lab has it by phone")
    delivery.refresh_from_db()
    assert delivery.state == "sent"
    with pytest.raises(DeliveryMoved, match="“Sent”"):
        withhold_delivery(delivery=delivery, actor=shop.dispenser())


@pytest.mark.django_db
def test_nothing_is_ever_sent_inside_a_transaction() -> None:
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=order.version)
    with pytest.raises(worker.SendingInTransaction):
        worker.send_due()
