"""Two people, or two workers, act on one order at once. Each race is first shown to happen, then prevented."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest
from django.db import connection
from django.utils import timezone

from dispensing.services.meanwhile import ChangedMeanwhile
from orders.delivery_states import DeliveryState
from orders.models import Delivery, Order, OrderDocument
from orders.queries import for_page
from orders.sending import outbox
from orders.services.drafts import save_draft
from orders.services.errors import NotReady
from orders.services.judging import Judgement, judge
from orders.services.sending import send_order
from orders.states import NotAllowed
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(action: Callable[[threading.Barrier, int], object]) -> list[object]:
    """Run the action in two threads, each on its own connection; what each returned or raised."""
    barrier = threading.Barrier(2, timeout=60)
    results: list[object] = [None, None]

    def run(which: int) -> None:
        try:
            results[which] = action(barrier, which)
        except Exception as raised:
            results[which] = raised
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(which,)) for which in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return results


def test_saving_what_was_read_loses_one_of_two_savings() -> None:
    order = shop.draft()

    def careless(barrier: threading.Barrier, which: int) -> str:
        mine = Order.objects.get(pk=order.pk)
        barrier.wait()
        mine.remarks = f"Remark {which}"
        mine.save(update_fields=["remarks"])
        return "saved"

    assert at_once(careless) == ["saved", "saved"]


def test_of_two_savers_one_is_told_and_nothing_is_lost() -> None:
    order = shop.draft()

    def save(barrier: threading.Barrier, which: int) -> Judgement:
        mine = Order.objects.get(pk=order.pk)
        barrier.wait()
        return save_draft(order=mine, actor=shop.dispenser(), version=1, fields={"remarks": f"Remark {which}"})

    results = at_once(save)
    (refused,) = [result for result in results if isinstance(result, ChangedMeanwhile)]
    (saved,) = [result for result in results if isinstance(result, Judgement)]
    assert Order.objects.get(pk=order.pk).remarks == saved.document.remarks == refused.record.remarks


def test_marking_what_was_read_as_draft_sends_twice() -> None:
    order = shop.draft()

    def careless(barrier: threading.Barrier, which: int) -> int:
        mine = Order.objects.get(pk=order.pk)
        assert mine.state == "draft"
        barrier.wait()
        return Order.objects.filter(pk=mine.pk).update(state="sent", sent_at=timezone.now())

    assert at_once(careless) == [1, 1]


def test_of_two_senders_one_sends_and_the_other_is_told() -> None:
    order = shop.draft()

    def send(barrier: threading.Barrier, which: int) -> OrderDocument:
        mine = Order.objects.get(pk=order.pk)
        barrier.wait()
        return send_order(order=mine, actor=shop.dispenser(), version=1)

    results = at_once(send)
    assert sorted(type(result).__name__ for result in results) in (
        ["NotAllowed", "OrderDocument"],
        ["ChangedMeanwhile", "OrderDocument"],
    )
    assert any(isinstance(result, NotAllowed) for result in results)
    assert OrderDocument.objects.count() == 1
    assert Delivery.objects.count() == 1
    assert [event.kind for event in Order.objects.get(pk=order.pk).events.order_by("pk")] == ["created", "sent"]


def test_two_orders_that_are_alike_both_leave_if_each_is_judged_only_before_the_other_is_sent() -> None:
    drafts = two_alike()

    def careless(barrier: threading.Barrier, which: int) -> int:
        mine = for_page().get(pk=drafts[which].pk)
        assert not judge(mine).open_findings
        barrier.wait()
        return Order.objects.filter(pk=mine.pk, state="draft").update(state="sent", sent_at=timezone.now())

    assert at_once(careless) == [1, 1]


def test_of_two_orders_of_one_patient_that_are_alike_the_second_is_asked_about_and_the_neighbours_goes() -> None:
    drafts, neighbours = two_alike(), shop.draft(patient=shop.patient("P-90002"))

    def send(barrier: threading.Barrier, which: int) -> OrderDocument:
        mine = for_page().get(pk=drafts[which].pk)
        barrier.wait()
        return send_order(order=mine, actor=shop.dispenser(), version=1)

    results = at_once(send)
    (asked,) = [result for result in results if isinstance(result, NotReady)]
    (sent,) = [result for result in results if isinstance(result, OrderDocument)]
    assert {(finding.rule, finding.level) for finding in asked.findings} == {("duplicate-order", "ask")}
    assert sent.number in asked.findings[0].message
    assert sorted(Order.objects.filter(pk__in=[row.pk for row in drafts]).values_list("state", flat=True)) == [
        "draft",
        "sent",
    ]
    assert send_order(order=neighbours, actor=shop.dispenser(), version=1).number == neighbours.number


def two_alike() -> list[Order]:
    """Two drafts of one patient that differ in nothing but their numbers."""
    first = shop.draft()
    again = {name: getattr(first, name) for name in ("prescription", "frame", "fitting")}
    return [first, shop.draft(**again)]


def queued() -> Delivery:
    order = shop.draft()
    return send_order(order=order, actor=shop.dispenser(), version=1).deliveries.get()


def test_taking_what_was_read_as_waiting_gives_one_delivery_to_two_workers() -> None:
    queued()

    def careless(barrier: threading.Barrier, which: int) -> int:
        row = there(Delivery.objects.filter(state=DeliveryState.QUEUED).first())
        barrier.wait()
        return Delivery.objects.filter(pk=row.pk).update(state=DeliveryState.SENDING)

    assert at_once(careless) == [1, 1]


def test_of_two_workers_only_one_gets_the_delivery() -> None:
    delivery = queued()

    def claim(barrier: threading.Barrier, which: int) -> Delivery | None:
        barrier.wait()
        return outbox.claim_next(timezone.now())

    results = at_once(claim)
    assert sorted(results, key=str) == sorted([delivery, None], key=str)
    delivery.refresh_from_db()
    assert delivery.attempts_made == 1
