"""Orders posted to real receivers that behave well and badly: what is tried again, what waits for a person, and why."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Any

import pytest
from django.utils import timezone
from django.utils.http import http_date
from pytest_django import Settings
from standardwebhooks import Webhook, WebhookVerificationError

from orders.models import Delivery, Lab, LabSecret, Order
from orders.sending import outbox, worker
from orders.sending.channels import SENDERS, https
from orders.sending.messages import key_of
from orders.sending.retry import DELAYS
from orders.services.lab_secrets import OLD_ONE_HOLDS, make_secret, secrets_of
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop
from tests.orders.sending.receivers import CA, Receiver, receiving

# Whichever database it is, what it holds of a post is told by test_outbox.py.
pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.either_database]
SECONDS = 1.5


@pytest.fixture(autouse=True)
def _trusted(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.LABS_ON_THIS_MACHINE, settings.LABS_CA_FILE = True, str(CA)
    monkeypatch.setitem(SENDERS, "https", partial(https.send, seconds=SECONDS))


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    with receiving("localhost") as found:
        yield found


def secret() -> str:
    lab = shop.lab()
    return next(iter(secrets_of(lab)), "") or make_secret(lab=lab, actor=None)


def waiting(url: str) -> Delivery:
    """An order as it was sent, waiting to be posted there."""
    secret()
    Lab.objects.update(way="https", url=url)
    order = shop.draft()
    return Delivery.objects.get(document=send_order(order=order, actor=shop.dispenser(), version=1))


def bare(url: str) -> Delivery:
    """The same without a real document, where only its fate matters."""
    secret()
    delivery = shop.delivery(shop.brought_to("sent"), channel="https")
    Delivery.objects.filter(pk=delivery.pk).update(address=url)
    Lab.objects.update(way="https", url=url)
    return Delivery.objects.get(pk=delivery.pk)


def due() -> None:
    Delivery.objects.filter(state="retry_later").update(next_try_at=timezone.now())


def fate(delivery: Delivery) -> tuple[str, list[str], bool]:
    delivery.refresh_from_db()
    return delivery.state, list(delivery.attempts.values_list("step", flat=True)), delivery.unclear


def test_the_lab_gets_the_document_to_the_last_byte_signed_and_under_its_key(receiver: Receiver) -> None:
    delivery = waiting(receiver.url)
    worker.send_due()
    ((headers, body),) = receiver.posts
    told = Webhook(secret()).verify(body, headers)
    assert (told["type"], headers["webhook-id"]) == ("lens_order.sent", f"order_{delivery.document.public_id.hex}")
    data = told["data"]
    assert data["document"] == delivery.document.text
    assert hashlib.sha256(data["document"].encode()).hexdigest() == data["sha256"] == delivery.document.sha256
    assert json.loads(data["document"])["number"] == data["number"] == delivery.document.number
    assert (data["revision"], data["practice"]) == (1, {"name": "Harbour Lane Opticians", "account": "4711"})
    assert fate(delivery) == ("sent", ["claim", "succeed"], False)
    assert there(delivery.attempts.last()).reply == '200 {"job": "L-12"}'
    for word in ("Lindqvist", "Åsa"):
        assert word not in body.decode()


def test_a_signature_holds_for_this_secret_this_text_and_this_quarter_of_an_hour(receiver: Receiver) -> None:
    waiting(receiver.url)
    worker.send_due()
    ((headers, body),) = receiver.posts
    for known, text, told in (
        ("whsec_" + "A" * 44, body, headers),
        (secret(), body.replace(b"lens_order.sent", b"lens_order.lost"), headers),
        (secret(), body, headers | {"webhook-timestamp": "1000000000"}),
    ):
        with pytest.raises(WebhookVerificationError):
            Webhook(known).verify(text, told)


def test_while_a_secret_is_changed_the_old_and_the_new_one_both_sign(receiver: Receiver) -> None:
    old = secret()
    new = make_secret(lab=shop.lab(), actor=None)
    bare(receiver.url)
    worker.send_due()
    ((headers, body),) = receiver.posts
    for known in (old, new):
        assert Webhook(known).verify(body, headers)["type"] == "lens_order.sent"
    LabSecret.objects.filter(text=old).update(ends_at=timezone.now() - timedelta(seconds=1))
    assert secrets_of(shop.lab()) == [new]
    assert timedelta(days=7) == OLD_ONE_HOLDS


def test_without_a_secret_nothing_is_posted_and_a_person_is_told_what_to_do(receiver: Receiver) -> None:
    delivery = bare(receiver.url)
    LabSecret.objects.all().delete()
    worker.send_due()
    assert fate(delivery)[0] == "failed"
    assert "make one on the lab's page" in delivery.problem
    assert receiver.connections == 0


@pytest.mark.parametrize(
    ("does", "state", "said"),
    [
        ("500", "retry_later", "cannot take it now: 500"),
        ("503", "retry_later", "cannot take it now: 503"),
        ("429", "retry_later", "cannot take it now: 429"),
        ("400", "failed", "refused it: 400"),
        ("401", "failed", "refused it: 401"),
        ("410", "failed", "refused it: 410"),
        ("302", "failed", "sends us to another address (302)"),
        ("308", "failed", "sends us to another address (308)"),
    ],
)
def test_a_refusal_is_final_or_passing_as_its_status_says(receiver: Receiver, does: str, state: str, said: str) -> None:
    receiver.behaviour = [does]
    delivery, beside = bare(receiver.url), shop.delivery(shop.brought_to("sent"), "withheld")
    worker.send_due()
    assert fate(delivery) == (state, ["claim", "postpone" if state == "retry_later" else "give_up"], False)
    assert said in delivery.problem
    assert fate(beside) == ("withheld", [], False)


@pytest.mark.parametrize(
    ("does", "asks", "least", "most"),
    [
        ("429", "7200", 7200, 7200),
        ("503", "in an hour", 3000, 3600),
        ("503", "soon", 60, 60),
        ("500", "7200", 60, 60),
        ("503", "9" * 40, 86400, 86400),
    ],
)
def test_a_lab_that_asks_to_wait_is_left_alone_so_long(
    receiver: Receiver, does: str, asks: str, least: int, most: int
) -> None:
    now = timezone.now()
    receiver.behaviour = [does]
    receiver.asks_to_wait = asks.replace("in an hour", http_date((now + timedelta(hours=1)).timestamp()))
    delivery = bare(receiver.url)
    worker.send_due()
    assert fate(delivery)[0] == "retry_later"
    waits = Delivery.objects.get(pk=delivery.pk).next_try_at
    assert now + timedelta(seconds=least) <= waits <= timezone.now() + timedelta(seconds=most)


@pytest.mark.parametrize(
    ("does", "arrived"),
    [
        ("reset in the body", 0),
        ("reset after taking", 1),
        ("hang before taking", 0),
        ("hang after taking", 1),
        ("drip", 1),
    ],
)
def test_a_line_cut_midway_is_tried_again_under_the_same_key_and_taken_once(
    receiver: Receiver, does: str, arrived: int
) -> None:
    receiver.behaviour = [does, "200"]
    delivery = bare(receiver.url)
    worker.send_due()
    assert fate(delivery) == ("retry_later", ["claim", "postpone"], True)
    assert "it may have arrived" in delivery.problem
    assert len(receiver.taken) == arrived
    due()
    worker.send_due()
    assert fate(delivery)[:2] == ("sent", ["claim", "postpone", "claim", "succeed"])
    assert receiver.taken == [key_of(delivery)]


def test_500_and_then_200_is_taken_once(receiver: Receiver) -> None:
    receiver.behaviour = ["500", "500", "200"]
    delivery = bare(receiver.url)
    for _ in range(3):
        due()
        worker.send_due()
    assert fate(delivery)[:2] == ("sent", ["claim", "postpone", "claim", "postpone", "claim", "succeed"])
    assert receiver.taken == [key_of(delivery)]


@pytest.mark.parametrize("does", ["endless", "half an answer"])
def test_an_order_that_was_taken_is_sent_however_its_answer_ends(receiver: Receiver, does: str) -> None:
    receiver.behaviour = [does]
    delivery = bare(receiver.url)
    worker.send_due()
    assert fate(delivery) == ("sent", ["claim", "succeed"], False)
    assert len(there(delivery.attempts.last()).reply) <= 300


def test_when_no_delay_is_left_and_it_may_have_arrived_nobody_knows_whatever_became_of_the_last_try(
    receiver: Receiver,
) -> None:
    receiver.behaviour = ["reset after taking", "500"]
    delivery = bare(receiver.url)
    worker.send_due()
    Delivery.objects.update(attempts_made=len(DELAYS))
    due()
    worker.send_due()
    assert fate(delivery) == ("unknown", ["claim", "postpone", "claim", "lose"], True)


def test_a_post_that_never_arrived_has_failed_when_no_delay_is_left(receiver: Receiver) -> None:
    receiver.behaviour = ["500"]
    delivery = bare(receiver.url)
    Delivery.objects.update(attempts_made=len(DELAYS))
    worker.send_due()
    assert fate(delivery) == ("failed", ["claim", "give_up"], False)


def test_a_server_that_is_down_is_tried_again_and_nothing_has_left() -> None:
    with receiving("localhost") as gone:
        pass
    delivery = bare(gone.url)
    worker.send_due()
    assert fate(delivery) == ("retry_later", ["claim", "postpone"], False)
    assert "cannot be reached (Connection refused)" in delivery.problem


def test_a_certificate_of_another_name_gets_nothing_and_a_person_is_told() -> None:
    with receiving("elsewhere.example") as impostor:
        delivery = bare(impostor.url)
        worker.send_due()
        assert fate(delivery) == ("failed", ["claim", "give_up"], False)
        assert "cannot prove that it is localhost" in delivery.problem
        assert impostor.posts == []


def test_a_certificate_that_nobody_vouches_for_gets_nothing(receiver: Receiver, settings: Settings) -> None:
    settings.LABS_CA_FILE = ""
    delivery = bare(receiver.url)
    worker.send_due()
    assert fate(delivery)[0] == "failed"
    assert "Nothing was sent" in delivery.problem
    assert receiver.posts == []


def test_a_redirect_to_a_private_address_is_not_followed(receiver: Receiver) -> None:
    with receiving() as inside:
        receiver.behaviour, receiver.redirected_to = ["307"], inside.url
        delivery = bare(receiver.url)
        worker.send_due()
        assert fate(delivery)[0] == "failed"
        assert inside.connections == 0


def test_without_the_setting_this_machine_is_no_lab(receiver: Receiver, settings: Settings) -> None:
    delivery = bare(receiver.url)
    settings.LABS_ON_THIS_MACHINE = False
    worker.send_due()
    assert fate(delivery)[0] == "failed"
    assert "is not an address on the public internet" in delivery.problem
    assert receiver.connections == 0


def test_a_fault_of_our_own_is_not_hidden_by_trying_again(receiver: Receiver, monkeypatch: pytest.MonkeyPatch) -> None:
    delivery = bare(receiver.url)
    monkeypatch.setattr(https, "text_of", lambda one: 1 / 0)
    worker.send_due()
    assert fate(delivery) == ("unknown", ["claim", "lose"], True)
    assert "broke down (ZeroDivisionError)" in delivery.problem


def test_a_worker_that_dies_while_posting_costs_no_second_pair(receiver: Receiver) -> None:
    """The lab has it, and the worker is gone before it could say so: the lease runs out, and the lab refuses it."""
    delivery = bare(receiver.url)
    https.send(there(outbox.claim_next(timezone.now())))
    later = timezone.now() + outbox.LEASE + timedelta(seconds=1)
    assert outbox.expire_leases(later) == 1
    assert fate(delivery) == ("retry_later", ["claim", "postpone"], True)
    due()
    worker.send_due()
    assert fate(delivery)[0] == "sent"
    assert (len(receiver.posts), receiver.taken) == (2, [key_of(delivery)])


def test_what_was_cancelled_while_a_worker_died_is_not_posted_again(receiver: Receiver) -> None:
    delivery = bare(receiver.url)
    outbox.claim_next(timezone.now())
    Order.objects.update(state="cancelled", place="cancelled")
    outbox.expire_leases(timezone.now() + outbox.LEASE + timedelta(seconds=1))
    assert fate(delivery) == ("unknown", ["claim", "expire"], True)


def test_every_attempt_is_signed_anew_for_its_own_time(receiver: Receiver, monkeypatch: pytest.MonkeyPatch) -> None:
    receiver.behaviour = ["500", "500"]
    delivery = bare(receiver.url)
    seen: list[Any] = []

    def posted(target: Any, body: bytes, headers: dict[str, str], seconds: float) -> str:
        seen.append((body, headers))
        return "200"

    monkeypatch.setattr(https, "post", posted)
    for hour in (9, 10):
        monkeypatch.setattr(https, "datetime", Frozen(hour))
        https.send(delivery)
    (first, one), (second, other) = seen
    assert first == second
    assert int(other["webhook-timestamp"]) - int(one["webhook-timestamp"]) == 3600
    assert one["webhook-signature"] != other["webhook-signature"]


class Frozen:
    def __init__(self, hour: int):
        self.hour = hour

    def now(self, zone: Any) -> datetime:
        return datetime(2026, 11, 30, self.hour, tzinfo=UTC)
