"""Counts kept from look to look equal those counted from the beginning, whatever happened in between."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.utils import timezone

from orders.figure_queries import counted_months, months_counted
from orders.figures.counts import Counts, in_all
from orders.models import CountedMonth, CountedOrder, Order, OrderEvent
from orders.services import counting
from orders.services.counting import bring_up_to_date, count_anew
from tests.orders.figures.years import START, Years

pytestmark = pytest.mark.django_db


def kept() -> dict[str, Counts]:
    return counted_months("0000-00", "9999-99")


def as_from_the_beginning() -> bool:
    """Whether nothing comes out otherwise; what was kept stays as it was."""
    before = kept()
    return count_anew().orders_changed == 0 and kept() == before


def test_look_by_look_it_comes_to_the_same_as_from_the_beginning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(counting, "EVENTS_AT_ONCE", 37)
    monkeypatch.setattr(counting, "READ_AGAIN", 0)
    years = Years(seed=12)
    for step in range(3):
        years.make(25, start=START + timedelta(days=40 * step), days=40)
        assert bring_up_to_date().left == 0
    assert CountedOrder.objects.count() > 50
    assert as_from_the_beginning()


def test_what_happens_later_goes_to_the_month_in_which_the_order_was_sent() -> None:
    Years(seed=3).make(12, days=20)
    bring_up_to_date()
    standing = Order.objects.filter(state="sent", purpose="new", remakes=None).order_by("pk")
    first, other = standing[0], standing[1]
    before = {row.number: row.told for row in CountedOrder.objects.all()}
    OrderEvent.objects.create(order=first, kind="query", at=timezone.now())
    assert bring_up_to_date().orders_changed == 1
    now = {row.number: row.told for row in CountedOrder.objects.all()}
    assert now.pop(first.number) == {**before.pop(first.number), "queries": before_queries(first) + 1}
    assert now == before
    assert other.number in now
    assert as_from_the_beginning()


def before_queries(order: Order) -> int:
    return OrderEvent.objects.filter(order=order, kind="query").count() - 1


def test_a_remake_counts_for_its_first_order_until_it_is_withdrawn() -> None:
    Years(seed=3).make(12, days=20)
    first = Order.objects.filter(state="sent", purpose="new", remakes=None).order_by("pk")[0]
    again = {"remake_of": first, "purpose": "remake", "remake_cause": "axis", "remake_whose": "lab"}
    sent = {"state": "sent", "sent_at": timezone.now(), "patient": first.patient, "lab": first.lab}
    remake = Order.objects.create(pk=90_001, number="Z-1", **again, **sent)
    OrderEvent.objects.create(order=remake, kind="sent", at=timezone.now())
    bring_up_to_date()
    assert CountedOrder.objects.get(number=first.number).told["cause"] == "axis"
    OrderEvent.objects.create(order=remake, kind="cancelled", at=timezone.now())
    bring_up_to_date()
    assert CountedOrder.objects.get(number=first.number).told["cause"] == ""
    assert as_from_the_beginning()


def test_another_time_zone_counts_all_of_it_anew(settings: Any) -> None:
    Years(seed=5).make(20, days=90)
    bring_up_to_date()
    london = kept()
    settings.TIME_ZONE = "Pacific/Auckland"
    bring_up_to_date()
    assert kept() != london
    assert sum(in_all(counts)["sent"] for counts in kept().values()) == CountedOrder.objects.count()
    assert as_from_the_beginning()


def test_a_page_reads_only_so_much_at_a_time_and_says_what_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(counting, "EVENTS_AT_ONCE", 20)
    Years(seed=5).make(20, days=90)
    everything = OrderEvent.objects.count()
    assert bring_up_to_date(at_most=20).left == everything - 20
    assert bring_up_to_date(at_most=everything).left == 0
    assert as_from_the_beginning()


def test_an_event_written_by_a_transaction_that_ended_late_is_still_read() -> None:
    Years(seed=3).make(6, days=20)
    order = Order.objects.filter(state="sent", purpose="new").order_by("pk")[0]
    newest = OrderEvent.objects.order_by("-pk")[0].pk
    OrderEvent.objects.create(pk=newest + 5, order=order, kind="note", at=timezone.now())
    bring_up_to_date()
    before = CountedOrder.objects.get(number=order.number).told["queries"]
    OrderEvent.objects.create(pk=newest + 2, order=order, kind="query", at=timezone.now())
    OrderEvent.objects.create(pk=newest + 9, order=Order.objects.order_by("-pk")[0], kind="note", at=timezone.now())
    bring_up_to_date()
    assert CountedOrder.objects.get(number=order.number).told["queries"] == before + 1


def test_the_command_says_what_it_counted_and_what_was_otherwise() -> None:
    assert months_counted() is None
    Years(seed=5).make(10, days=20)
    told = StringIO()
    call_command("count_figures", stdout=told)
    assert told.getvalue().startswith("Counted")
    row = CountedOrder.objects.order_by("pk")[0]
    CountedOrder.objects.filter(pk=row.pk).update(told={**row.told, "queries": 99})
    told = StringIO()
    call_command("count_figures", "--anew", stdout=told)
    assert "1 came out otherwise" in told.getvalue()
    assert CountedMonth.objects.count() in (1, 2)
    months = [row.month for row in CountedMonth.objects.all()]
    assert months_counted() == (months[0], months[-1])
