"""The board: where orders are, how many, which are late, and how few queries it takes."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from dispensing.models import Patient
from orders.board_queries import sorted_board
from orders.models import Delivery, Lab, Order
from orders.progress import EventKind, Place
from orders.queries import BoardFilter, latest_lab, orders_of, place_counts, successor_of
from orders.services.amending import amend_order
from orders.services.cancelling import cancel_order
from orders.services.drafts import start_draft
from orders.services.events import record_event
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db


def started(
    person: Patient | None = None, *, place: str | None = None, needed_in: int | None = None, lab: Lab | None = None
) -> Order:
    order = start_draft(
        patient=person or shop.patient(),
        actor=shop.dispenser(),
        needed_on=None if needed_in is None else timezone.localdate() + timedelta(days=needed_in),
        lab=lab,
    )
    if place:
        Order.objects.filter(pk=order.pk).update(place=place)
    return order


def rows(**wanted: Any) -> set[Any]:
    return {order.number for order in sorted_board(BoardFilter(**wanted)).rows}


def test_every_place_of_open_orders_has_its_count_and_its_late_ones() -> None:
    started()
    started(place="handed over", needed_in=-1)
    started(place="at the lab", needed_in=-1)
    started(place="at the lab", needed_in=3)
    counts = place_counts()
    assert set(counts) == {str(place) for place in Place} - {"handed over", "made again", "cancelled", "superseded"}
    assert (counts["at the lab"].orders, counts["at the lab"].late) == (2, 1)
    assert counts["draft"].orders == 1
    assert counts["ready to collect"].orders == 0


@pytest.mark.parametrize(
    ("place", "late"),
    [
        ("at the lab", True),
        ("query to answer", True),
        ("in, to be checked", True),
        ("draft", False),
        ("ready to collect", False),
        ("handed over", False),
        ("cancelled", False),
    ],
)
def test_late_is_what_was_needed_before_today_and_is_not_ready(place: str, late: bool) -> None:
    order = started(place=place, needed_in=-1)
    assert (order.number in rows(late=True)) is late
    assert sorted_board(BoardFilter()).rows[0].is_late is late


def test_what_is_needed_today_is_not_late_yet() -> None:
    started(place="at the lab", needed_in=0)
    assert not rows(late=True)


def test_the_board_is_narrowed_by_place_lab_number_and_name() -> None:
    near, far = shop.lab(), shop.lab("Far Lab")
    other = shop.patient("P-90077", family_name="Zubair")
    first = started(lab=near)
    second = started(other, lab=far, place="on the way")
    assert rows() == {first.number, second.number}
    assert rows(place="on the way") == {second.number}
    assert rows(lab=str(far.public_id)) == {second.number}
    assert rows(text=first.number) == {first.number}
    assert rows(text="zub") == {second.number}
    assert rows(text="Zubáir P-90077") == {second.number}
    assert rows(text="zub nobody") == rows(text="%") == set()
    assert rows(state="sent") == set()


def test_pages_follow_one_another_without_gap_or_repeat() -> None:
    numbers = [started().number for _ in range(7)]
    seen, after = [], ""
    from dispensing.queries import paging

    size = paging.ROWS_A_PAGE
    first = sorted_board(BoardFilter())
    assert len(first.rows) == 7 < size
    while True:
        page = paging.page_of(Order.objects.all(), order=("-pk",), after=after, size=3)
        seen += [order.number for order in page.rows]
        after = page.next_key
        if not after:
            break
    assert seen == numbers[::-1]


def test_the_board_asks_the_database_once_however_long_it_is(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    for _ in range(12):
        started(lab=shop.lab())
    with django_assert_num_queries(1):
        for order in sorted_board(BoardFilter()).rows:
            assert order.patient.listed_name
            assert there(order.lab).name
            assert order.delivery_trouble is False
    with django_assert_num_queries(1):
        place_counts()


def test_an_order_whose_mail_failed_is_marked_and_found() -> None:
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=1)
    Delivery.objects.update(state="failed")
    started()
    assert rows(unsent=True) == {order.number}
    assert {row.number: row.delivery_trouble for row in sorted_board(BoardFilter()).rows}[order.number] is True


def test_the_patients_orders_are_theirs_alone_newest_first() -> None:
    first, second = started(), started()
    started(shop.patient("P-90078"))
    assert list(orders_of(shop.patient())) == [second, first]


def test_the_successor_is_the_newest_revision_that_stands() -> None:
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=1)
    assert successor_of(order) is None
    revision = amend_order(order=Order.objects.get(pk=order.pk), actor=shop.dispenser())
    assert successor_of(order) == revision
    cancel_order(order=revision, actor=shop.dispenser(), reason="Not needed")
    assert successor_of(order) is None


def test_a_new_order_is_offered_the_lab_of_the_last_one() -> None:
    assert latest_lab() is None
    shop.lab("A Lab")
    assert there(latest_lab()).name == "A Lab"
    started(lab=shop.lab("B Lab"))
    assert there(latest_lab()).name == "B Lab"


def test_where_a_pair_is_follows_its_events() -> None:
    order = shop.brought_to("sent")
    for kind, place in (
        (EventKind.ACCEPTED, "at the lab"),
        (EventKind.QUERY, "query to answer"),
        (EventKind.NOTE, "query to answer"),
        (EventKind.ANSWER, "at the lab"),
        (EventKind.DELAYED, "at the lab"),
        (EventKind.DISPATCHED, "on the way"),
        (EventKind.RECEIVED, "in, to be checked"),
        (EventKind.PASSED, "checked, patient not told"),
        (EventKind.PATIENT_TOLD, "ready to collect"),
        (EventKind.HANDED_OVER, "handed over"),
    ):
        record_event(order=order, kind=kind, actor=shop.dispenser())
        assert Order.objects.get(pk=order.pk).place == place
