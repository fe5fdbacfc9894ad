"""What may happen to an order when: the table walked pair by pair, in pure form and where events are written.

What is expected is written here in the trade's words, and again in DEVELOPERS.md; neither is made from the table.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.db import transaction

from orders.models import Order, OrderEvent
from orders.progress import (
    AFTER,
    BY_HAND,
    BY_THE_LAB,
    MAY_FOLLOW,
    CannotHappen,
    EventKind,
    Place,
    may_follow,
    place_after,
    require_may_follow,
)
from orders.services.cancelling import cancel_order
from orders.services.events import record_event
from orders.states import OrderState
from tests.orders import shop
from tests.people import person

EXPECTED = {
    None: "created",
    "draft": "sent, cancelled, note",
    "sent": "accepted, query, delayed, dispatched, refused, received, cancelled, superseded, note",
    "at the lab": "query, delayed, dispatched, refused, received, cancelled, superseded, note",
    "query to answer": "answer, accepted, query, delayed, dispatched, refused, received, cancelled, superseded, note",
    "refused by the lab": "accepted, query, cancelled, superseded, note",
    "on the way": "received, dispatched, delayed, cancelled, superseded, note",
    "in, to be checked": "passed, conceded, returned, our mistake, cancelled, superseded, note",
    "checked, patient not told": (
        "patient told, message left, handed over, returned, our mistake, cancelled, superseded, note"
    ),
    "ready to collect": "patient told, message left, handed over, returned, our mistake, cancelled, superseded, note",
    "handed over": "adjusted, repaired, complaint, remade, note",
    "returned to the lab": "accepted, query, delayed, dispatched, refused, received, remade, cancelled, superseded, "
    "note",
    "to be made again": "remade, cancelled, note",
    "made again": "note",
    "cancelled": "acknowledged, note",
    "superseded": "acknowledged, note",
}
PAIRS = [(place, kind) for place in EXPECTED for kind in EventKind]


def allowed(place: str | None) -> set[str]:
    return set(EXPECTED[place].split(", "))


def test_every_place_and_every_kind_is_in_the_table() -> None:
    assert set(EXPECTED) == set(MAY_FOLLOW) == {None, *Place}
    assert {kind for kinds in MAY_FOLLOW.values() for kind in kinds} == set(EventKind)
    assert set(BY_HAND) | {"created", "sent", "cancelled", "superseded", "remade"} == set(EventKind)


@pytest.mark.parametrize(("place", "kind"), PAIRS, ids=str)
def test_each_pair_is_as_the_trade_says(place: Any, kind: Any) -> None:
    where = place and Place(place)
    if kind in allowed(place):
        require_may_follow(where, kind)
    else:
        with pytest.raises(CannotHappen) as refused:
            require_may_follow(where, kind)
        assert {str(may) for may in refused.value.may} == allowed(place) & set(BY_HAND)
        assert (refused.value.place, refused.value.kind) == (where, kind)


@pytest.mark.parametrize("place", list(Place))
def test_while_the_lab_has_not_got_the_order_nothing_of_the_lab_happens(place: Any) -> None:
    before = may_follow(place, with_lab=False)
    if place == "sent":
        assert set(before) == {"note", "cancelled", "superseded"}
    elif place in ("cancelled", "superseded"):
        assert set(before) == {"note"}, "a lab that was not told has nothing to acknowledge"
    else:
        assert before == may_follow(place), "where the pair has moved the lab had it, whatever became of the mail"


@pytest.mark.parametrize("place", list(Place))
def test_a_lab_says_only_its_own_and_whatever_became_of_the_mail(place: Any) -> None:
    said = may_follow(place, by_lab=True)
    assert set(said) == allowed(place) & {"accepted", "query", "delayed", "dispatched", "refused", "acknowledged"}
    assert said == may_follow(place, by_lab=True, with_lab=False)
    assert set(said) <= set(BY_THE_LAB)


def test_a_refusal_says_where_the_order_is_and_what_can_be_noted_instead() -> None:
    said = str(CannotHappen(Place.TO_CHECK, EventKind.HANDED_OVER))
    assert said == (
        "This order is at “in, to be checked”, so “Handed over” cannot be noted. "
        "What can be noted now: “Checked and passed”, “Accepted with a concession”, “Checked and returned to the lab”, "
        "“Made as ordered, and ordered wrongly”, “A note”."
    )
    waiting = str(CannotHappen(Place.SENT, EventKind.RECEIVED, with_lab=False))
    assert waiting == (
        "The lab has not got this order yet, so “The pair came in” cannot be noted. What can be noted now: “A note”."
    )
    assert str(CannotHappen(Place.HANDED_OVER, EventKind.CANCELLED)) == (
        "This order is at “handed over”, so it cannot be cancelled. What can be noted now: “The frame was adjusted”, "
        "“Something was repaired”, “The wearer complained”, “A note”."
    )
    assert str(CannotHappen(Place.HANDED_OVER, EventKind.QUERY, by_lab=True)) == (
        "This order is at “handed over”, so “The lab asked something” cannot be noted."
    )


@pytest.mark.parametrize(
    "day",
    [
        "created, sent, accepted, dispatched, received, passed, patient told, handed over",
        "created, note, sent, received, passed, handed over",  # the lab says nothing; the patient walks in
        "created, sent, query, answer, delayed, dispatched, delayed, dispatched, received, passed, patient told",
        "created, sent, accepted, query, query, dispatched, received, returned, accepted, dispatched, received, passed",
        "created, sent, received, returned, received, passed, message left, patient told, message left, handed over",
        "created, sent, accepted, received, passed, patient told, returned, dispatched, received, passed, handed over",
        "created, sent, query, answer, accepted, query, answer, dispatched",  # asked before it accepted
        "created, sent, accepted, superseded, note",
        "created, sent, received, passed, patient told, cancelled, note",  # never collected
        "created, cancelled, note",
        "created, sent, received, our mistake, remade, note",
        "created, sent, received, returned, remade",  # the lab wants a new order for it
        "created, sent, received, conceded, handed over, adjusted, complaint, repaired, complaint, remade",
    ],
)
def test_days_of_the_trade_can_be_noted_as_they_happen(day: str) -> None:
    told: list[EventKind] = []
    for kind in map(EventKind, day.split(", ")):
        require_may_follow(place_after(told), kind)
        told.append(kind)


@pytest.mark.parametrize("asked_at", ["sent", "at the lab", "returned to the lab", "refused by the lab"])
def test_an_answered_question_leaves_the_pair_where_it_was_however_often_the_lab_asked(asked_at: Any) -> None:
    story = [EventKind.CREATED, *map(EventKind, shop.STORIES[asked_at])]
    assert place_after([*story, EventKind.QUERY, EventKind.QUERY]) == "query to answer"
    assert place_after([*story, EventKind.QUERY, EventKind.QUERY, EventKind.ANSWER]) == asked_at


# Where events are written


def recorded(order: Order, kind: str, who: str = "ravi") -> OrderEvent:
    return record_event(order=order, kind=EventKind(kind), actor=person(who))


def seen(order: Order) -> tuple[str, str, list[str]]:
    row = Order.objects.get(pk=order.pk)
    return row.state, row.place, [event.kind for event in row.events.order_by("pk")]


@pytest.mark.django_db
@pytest.mark.parametrize("place", [place for place in EXPECTED if place])
def test_what_cannot_follow_is_refused_where_it_would_be_written_and_changes_nothing(place: Any) -> None:
    order, bystander = shop.brought_to(place), shop.brought_to(place)
    before, beside = seen(order), seen(bystander)
    for kind in EventKind:
        if kind not in allowed(place):
            with pytest.raises(CannotHappen):
                recorded(order, kind)
    assert seen(order) == before
    assert seen(bystander) == beside


@pytest.mark.django_db
@pytest.mark.parametrize("place", [place for place in EXPECTED if place])
def test_what_may_follow_is_written_and_moves_this_pair_only(place: Any) -> None:
    order, bystander = shop.brought_to(place), shop.brought_to(place)
    if "acknowledged" in allowed(place):
        shop.delivery(order, "sent", message="withdrawal")
    state, _, kinds = seen(order)
    beside = seen(bystander)
    for kind in map(EventKind, sorted(allowed(place))):
        with transaction.atomic():
            recorded(order, kind)
            assert seen(order) == (state, str(AFTER.get(kind, place)), [*kinds, kind])
            assert seen(bystander) == beside
            transaction.set_rollback(True)


@pytest.mark.django_db
@pytest.mark.parametrize("place", ["cancelled", "superseded"])
def test_a_lab_acknowledges_only_a_withdrawal_that_it_was_told_of(place: Any) -> None:
    told, never_told = shop.brought_to(place), shop.brought_to(place)
    shop.delivery(told, "sent", message="withdrawal")
    shop.delivery(never_told, "sent")
    assert recorded(told, "acknowledged").kind == "acknowledged"
    with pytest.raises(CannotHappen, match="at “" + place):
        recorded(never_told, "acknowledged")


@pytest.mark.django_db
def test_the_place_that_counts_is_that_of_the_events_and_not_a_copy_of_it() -> None:
    order = shop.brought_to("in, to be checked")
    Order.objects.filter(pk=order.pk).update(place="ready to collect")
    with pytest.raises(CannotHappen):
        recorded(order, "handed over")


def delivered(state: str) -> Order:
    """A sent order whose one delivery is in this state; beside it one that got there."""
    order, bystander = shop.brought_to("sent"), shop.brought_to("sent")
    shop.delivery(order, state)
    shop.delivery(bystander, "sent")
    return order


@pytest.mark.django_db
@pytest.mark.parametrize("state", ["queued", "sending", "retry_later", "failed", "withheld"])
@pytest.mark.parametrize("kind", ["accepted", "query", "delayed", "dispatched", "received"])
def test_an_order_that_has_not_got_to_the_lab_gets_nothing_from_it(state: str, kind: str) -> None:
    order = delivered(state)
    with pytest.raises(CannotHappen, match="The lab has not got this order yet"):
        recorded(order, kind)
    assert seen(order)[1] == "sent"
    recorded(order, "note")


@pytest.mark.django_db
@pytest.mark.parametrize("state", ["sent", "unknown"])
def test_an_order_that_has_or_may_have_got_there_is_followed(state: str) -> None:
    order = delivered(state)
    recorded(order, "received")
    assert seen(order)[1] == "in, to be checked"


@pytest.mark.django_db
def test_a_lab_that_says_something_has_the_order() -> None:
    order = delivered("queued")
    with pytest.raises(CannotHappen):
        recorded(order, "received", "lena")
    recorded(order, "accepted", "lena")
    recorded(order, "received", "dora")
    assert seen(order)[1] == "in, to be checked"


@pytest.mark.django_db
def test_a_pair_that_was_handed_over_is_not_cancelled_and_its_order_stays_as_it_was() -> None:
    order, bystander = shop.brought_to("handed over"), shop.brought_to("ready to collect")
    with pytest.raises(CannotHappen, match="it cannot be cancelled"):
        cancel_order(order=order, actor=person("ravi"), reason="Too late")
    assert seen(order)[:2] == (OrderState.SENT, "handed over")
    cancel_order(order=bystander, actor=person("ravi"), reason="Never collected")
    assert seen(bystander)[:2] == (OrderState.CANCELLED, "cancelled")
