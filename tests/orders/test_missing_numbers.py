"""The doctor misses orders by their numbers: in the middle, beyond a batch, and at the end of a series."""

from __future__ import annotations

import pytest
from django.db import transaction

from dispensing.models import SerialNumber
from dispensing.services.numbers import next_number
from orders.doctor import numbers
from orders.models import Order
from tests.evidence.shelf import doctors_words
from tests.orders import shop

pytestmark = pytest.mark.django_db


def series(prefix: str, *, last: int, without: set[int]) -> None:
    """So many numbers given, and all but these still there, each with a second revision beside."""
    first = shop.patient()
    Order.objects.bulk_create(
        Order(number=f"{prefix}-{count:05}", revision=revision, patient=first)
        for count in range(1, last + 1)
        for revision in (1, 2)
        if count not in without
    )
    SerialNumber.objects.create(series=f"orders.order.number {prefix}", last=last)


def missing() -> list[str]:
    return [line.split("number ")[1].split(", ")[0] for line in doctors_words(only=("order-numbers",))]


def test_the_runs_that_are_missing_are_named_in_each_series_and_their_neighbours_are_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(numbers, "A_BATCH", 4)
    series("D", last=13, without={3, 4, 5, 7, 12, 13})
    series("DD", last=5, without=set())
    assert missing() == ["D-00003 to D-00005", "D-00007", "D-00012 to D-00013"]


def test_the_first_and_the_last_are_missed_and_none_where_all_are_there() -> None:
    series("D", last=6, without={1})
    series("E", last=6, without={6})
    series("F", last=6, without=set())
    assert sorted(missing()) == ["D-00001", "E-00006"]


def test_a_number_that_was_rolled_back_and_one_given_by_hand_leave_no_gap() -> None:
    series("D", last=2, without=set())
    Order.objects.create(number="D-00003", patient=shop.patient())  # by hand, beyond the last that was given
    with transaction.atomic():
        assert next_number(Order, "number", "D") == "D-00004"
        transaction.set_rollback(True)
    assert missing() == []
    Order.objects.create(number=next_number(Order, "number", "D"), patient=shop.patient())
    assert (missing(), SerialNumber.objects.get().last) == ([], 4)
