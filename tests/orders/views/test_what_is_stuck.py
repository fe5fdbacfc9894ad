"""What is stuck between practice and lab shows by itself, at home, on the list and on the order; never as “Sent”."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from orders.models import Delivery, Order, Sender
from orders.progress import EventKind
from orders.sending.heartbeat import SILENT_AFTER
from orders.services.cancelling import cancel_order
from orders.services.events import record_event
from tests.orders import shop
from tests.orders.views.desk import text_of
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db

NO_SENDER = "the program that sends orders is not running"


def running() -> None:
    Sender.objects.create(name="one", started_at=timezone.now(), seen_at=timezone.now())


def sent(state: str = "queued", channel: str = "email", queued: timedelta = timedelta(0), **fields: Any) -> Order:
    order = shop.brought_to("sent")
    delivery = shop.delivery(order, state, channel)
    Delivery.objects.filter(pk=delivery.pk).update(queued_at=timezone.now() - queued, **fields)
    return order


def home() -> str:
    return text_of(signed_in("dora").get(reverse("home")))


def board(**asked: str) -> str:
    return text_of(signed_in("dora").get(reverse("order-list"), asked))


def row(order: Order, html: str) -> str:
    """The order's own row of the list."""
    return next(part for part in html.split("<tr>") if f">{order.number}<" in part)


def page(order: Order) -> str:
    return text_of(signed_in("ravi").get(reverse("order-page", args=[order.public_id])))


def lede(order: Order) -> str:
    return page(order).split('class="lede">')[1].split("</div>")[0]


@pytest.mark.parametrize(
    ("state", "channel", "said"),
    [
        ("queued", "email", "Not sent yet"),
        ("queued", "download", "Not sent yet, to be passed on by hand"),
        ("queued", "api", "Not fetched by the lab yet"),
        ("sending", "email", "Being sent"),
        ("retry_later", "email", "Not sent yet, next try"),
        ("unknown", "email", "Not known whether it arrived"),
        ("failed", "email", "Not sent"),
        ("withheld", "email", "Not sent, held back"),
        ("sent", "email", "Sent"),
    ],
)
def test_the_list_and_the_order_say_how_far_it_got_and_sent_only_of_what_left(
    state: str, channel: str, said: str
) -> None:
    order, beside = sent(state, channel), sent("sent")
    cell = row(order, board()).split('data-label="Where it is"><span>')[1]
    assert cell.startswith(said)
    assert cell.startswith("Sent") == (state == "sent")
    assert lede(order).startswith(said)
    assert "<strong>Sent</strong>" not in page(order)
    patients = text_of(signed_in("dora").get(reverse("patient-page", args=[order.patient.public_id])))
    assert row(order, patients).split('data-label="Where it is">')[1].startswith(said)
    assert row(beside, board()).split('data-label="Where it is"><span>')[1].startswith("Sent")


def test_the_tab_of_orders_without_an_answer_does_not_call_them_sent() -> None:
    sent()
    tabs = board().split('class="place-tabs"')[1].split("</nav>")[0]
    assert 'Not accepted yet <span class="count">1</span>' in tabs
    assert "Sent" not in tabs


@pytest.mark.parametrize(("waited", "too_long"), [(timedelta(minutes=59), False), (timedelta(minutes=60), True)])
def test_an_order_that_waits_an_hour_shows_without_being_asked_for(waited: timedelta, too_long: bool) -> None:
    running()
    order, beside = sent(queued=waited), sent("sent", queued=timedelta(days=2))
    for html in (home(), board()):
        assert ("1 has waited to leave for over an hour" in html) == too_long
    assert ("waits since" in row(order, board())) == too_long
    assert "waits since" not in row(beside, board())
    assert f'<div class="strip {"stop" if too_long else "note"}">' in page(order)
    assert "This order has not left yet. It waits since" in page(order)
    assert "has not left" not in page(beside)
    assert "1 waits to leave" in home() or too_long


def test_the_one_that_waits_longest_gives_the_time() -> None:
    running()
    sent(queued=timedelta(hours=2))
    oldest = timezone.localtime(timezone.now() - timedelta(hours=3))
    sent(queued=timedelta(hours=3))
    assert "2 have waited to leave for over an hour, the longest since" in home()
    assert f"{oldest:%H:%M}" in home().split("the longest since")[1][:30]


def test_what_waits_and_what_is_tried_again_is_found_by_the_filter() -> None:
    running()
    waiting, again, gone = sent(), sent("retry_later"), sent("sent")
    html = board(show="waiting")
    assert [f">{order.number}<" in html for order in (waiting, again, gone)] == [True, True, False]
    assert "2 wait to leave, 1 of them to be tried again" in home()


@pytest.mark.parametrize("state", ["failed", "unknown"])
def test_what_may_not_have_arrived_is_counted_and_marked_and_says_what_to_do(state: str) -> None:
    running()
    order, beside = sent(state), sent("sent")
    said = {"failed": "did not reach the lab", "unknown": "may not have reached the lab"}[state]
    for html in (home(), board()):
        assert f"1 {said}" in html
    assert said in row(order, board())
    assert said not in row(beside, board())
    assert f"This order {said}." in page(order)
    assert f"This order {said}." not in page(beside)


def test_a_delivery_that_failed_is_of_no_interest_once_its_order_is_cancelled() -> None:
    running()
    order = sent("failed")
    Order.objects.filter(pk=order.pk).update(state="cancelled", place="cancelled")
    assert "did not reach the lab" not in home()


@pytest.mark.parametrize(
    ("silent_for", "missing"),
    [(SILENT_AFTER - timedelta(seconds=20), False), (SILENT_AFTER + timedelta(seconds=20), True)],
)
def test_a_sender_that_fell_silent_shows_at_home_on_the_list_and_on_what_it_should_send(
    silent_for: timedelta, missing: bool
) -> None:
    order, by_hand = sent(), sent(channel="download")
    seen = timezone.now() - silent_for
    Sender.objects.create(name="one", started_at=seen, seen_at=seen)
    for html in (home(), board()):
        assert (NO_SENDER in html) == missing
        assert ("It was last seen" in html) == missing
    assert ("the program that sends is not running" in page(order)) == missing
    assert "the program that sends is not running" not in page(by_hand)


def test_one_living_sender_is_enough() -> None:
    sent()
    long_ago = timezone.now() - timedelta(days=1)
    Sender.objects.create(name="dead", started_at=long_ago, seen_at=long_ago)
    assert NO_SENDER in home()
    running()
    assert NO_SENDER not in home()


def test_a_practice_that_carries_every_order_by_hand_needs_no_sender() -> None:
    shop.lab(email="")
    assert NO_SENDER not in home()
    shop.lab("By mail")
    assert NO_SENDER in home()


@pytest.mark.parametrize(
    ("place", "days", "past"),
    [("at the lab", -1, True), ("at the lab", 0, False), ("on the way", -1, False), ("handed over", -1, False)],
)
def test_a_day_that_the_lab_promised_and_did_not_keep_shows_without_being_asked_for(
    place: str, days: int, past: bool
) -> None:
    running()
    order, beside = shop.brought_to(place), shop.brought_to(place)
    shop.delivery(order, "sent")
    shop.delivery(beside, "sent")
    day = timezone.localdate() + timedelta(days=days)
    Order.objects.filter(pk=order.pk).update(promised_on=day)
    for html in (home(), board()):
        assert ("1 is past the day the lab promised" in html) == past
    assert (f"promised for {day:%-d %b}" in row(order, board())) == past
    assert (f">{order.number}<" in board(show="promise")) == past
    assert f">{beside.number}<" not in board(show="promise")


def withdrawn() -> Order:
    order = shop.brought_to("at the lab")
    shop.delivery(order, "sent")
    cancel_order(order=order, actor=person("ravi"), reason="Not wanted any more")
    Delivery.objects.filter(document__order=order, message="withdrawal").update(state="sent")
    return order


def test_a_withdrawal_that_the_lab_has_not_acknowledged_shows_until_it_has() -> None:
    running()
    order, beside = withdrawn(), shop.brought_to("cancelled")
    assert "1 withdrawn order may still be made" in home()
    assert f">{order.number}<" in board(show="unacknowledged")
    assert f">{beside.number}<" not in board(show="unacknowledged")
    assert "has not said that it knows" in page(order)
    record_event(order=order, kind=EventKind.ACKNOWLEDGED, actor=person("dora"))
    assert "may still be made" not in home()
    assert "has not said that it knows" not in page(order)
