"""How often the check is asked: once for whatever is drawn or changed, and never for what was sent."""

from __future__ import annotations

import importlib
import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from orders.models import Order
from orders.services.amending import amend_order
from orders.services.judging import judge
from orders.services.lifting import lift
from orders.services.sending import send_order
from tests.dispensing.api.callers import based_on, caller
from tests.orders import shop
from tests.orders.services.test_lifting import on_the_day_after, order_whose_right_lens_misses_the_blank
from tests.orders.views.desk import HTMX, page_of, settle, stored, typed_on
from tests.people import signed_in

pytestmark = pytest.mark.django_db

Times = Callable[[Callable[[], object]], int]
DRAFT_AND_DOCUMENT = 2
"""What leaves states more than the draft did, and the report that is stored is on what leaves."""
WITHOUT_PRIVATE_FACTS = 1
"""What will leave is shown and sent without the private facts that the check can do without, which is tried."""


@pytest.fixture
def times(monkeypatch: pytest.MonkeyPatch) -> Times:
    """How often an order is put to the rules while something is done, by whatever way: a case is made once a check."""
    module = importlib.import_module("orders.rules.check")
    made: list[tuple[Any, ...]] = []
    case = module.Case

    def counted(*facts: Any) -> Any:
        made.append(facts)
        return case(*facts)

    monkeypatch.setattr(module, "Case", counted)

    def count(act: Callable[[], object]) -> int:
        made.clear()
        act()
        return len(made)

    return count


def lifted() -> Order:
    """A draft with a stop lifted today."""
    order = order_whose_right_lens_misses_the_blank()
    said = {"rule": "blank-size", "eye": "right", "reason": "Lab has 80 mm"}
    lift(order=order, actor=shop.dispenser(), version=order.version, **said)
    return stored(order)


@pytest.fixture(params=[shop.draft, lifted], ids=["nothing lifted", "a stop lifted"])
def draft(request: pytest.FixtureRequest) -> Order:
    order: Order = request.param()
    return order


def at(name: str, order: Order) -> str:
    return reverse(name, args=[order.public_id])


def test_drawing_the_desk_and_the_page_before_sending_asks_once_each(draft: Order, times: Times) -> None:
    client = signed_in("ravi")
    assert times(lambda: client.get(at("order-page", draft))) == 1
    assert times(lambda: client.get(at("order-send", draft))) == 1 + WITHOUT_PRIVATE_FACTS


def test_a_change_on_the_desk_is_judged_once_for_its_saving_and_its_page(draft: Order, times: Times) -> None:
    client = signed_in("ravi")
    values = typed_on(page_of(draft, client)) | {"remarks": ["Mind the bridge"]}
    assert times(lambda: client.post(at("order-live", draft), values, headers=HTMX)) == 1
    assert stored(draft).remarks == "Mind the bridge"


def test_a_start_is_judged_once(times: Times) -> None:
    person = shop.patient()
    assert times(lambda: signed_in("ravi").post(reverse("order-start", args=[person.public_id]))) == 1
    assert Order.objects.count() == 1


def test_lifting_and_taking_back_ask_once_each(times: Times) -> None:
    order = order_whose_right_lens_misses_the_blank()
    assert times(lambda: settle(order, "blank-size", "right", reason="Lab has 80 mm")) == 1
    assert len(stored(order).lifted) == 1
    back = {"rule": "blank-size", "eye": "right", "version": stored(order).version}
    assert times(lambda: signed_in("ravi").post(at("order-unsettle", order), back, headers=HTMX)) == 1
    assert stored(order).lifted == []


def test_a_way_out_put_into_the_draft_is_judged_once(draft: Order, times: Times) -> None:
    way = {"change": json.dumps({"lenses.right.blank_mm": 70.0}), "version": draft.version}
    assert times(lambda: signed_in("ravi").post(at("order-apply", draft), way, headers=HTMX)) == 1
    assert stored(draft).lenses["right"]["blank_mm"] == 70.0


def test_the_ways_out_are_tried_on_a_draft_that_is_judged_once(
    draft: Order, times: Times, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("orders.views.remedies.remedies", lambda *args, **kwargs: {})
    assert times(lambda: signed_in("ravi").get(at("order-remedies", draft), {"version": draft.version})) == 1


@pytest.mark.parametrize(
    ("drawn_up", "state", "judged"),
    [
        (shop.draft, "sent", DRAFT_AND_DOCUMENT + WITHOUT_PRIVATE_FACTS),
        (order_whose_right_lens_misses_the_blank, "draft", 1 + WITHOUT_PRIVATE_FACTS),
    ],
)
def test_sending_judges_the_draft_once_and_the_document_that_leaves_once(
    drawn_up: Any, state: str, judged: int, times: Times
) -> None:
    order, client = drawn_up(), signed_in("ravi")
    assert times(lambda: client.post(at("order-send", order), {"version": order.version})) == judged
    assert stored(order).state == state


def test_sending_on_top_of_an_older_version_is_refused_before_anything_is_judged_or_drawn(
    times: Times, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[object] = []
    order, client = shop.draft(), caller()
    monkeypatch.setattr("orders.services.freezing.paper", lambda *read, **also: drawn.append(read))
    assert times(lambda: client.post(at("api-order-send", order), headers=based_on(0))) == 0
    assert (stored(order).state, drawn) == ("draft", [])


def test_over_the_api_each_change_is_judged_once(draft: Order, times: Times) -> None:
    client, bare = caller(), {"patient": str(draft.patient.public_id)}
    changes = {"remarks": "Mind the bridge"}
    assert times(lambda: client.get(at("api-order-detail", draft))) == 1
    assert times(lambda: client.patch(at("api-order-detail", draft), changes, headers=based_on(draft.version))) == 1
    assert times(lambda: client.post(reverse("api-order-list"), bare)) == 1
    assert (stored(draft).remarks, Order.objects.count()) == ("Mind the bridge", 2)


def test_settling_and_sending_over_the_api_ask_once_each(times: Times) -> None:
    order, client = order_whose_right_lens_misses_the_blank(), caller()
    said = {"rule": "blank-size", "eye": "right", "reason": "Lab has 80 mm"}
    assert times(lambda: client.post(at("api-order-settle", order), said, headers=based_on(1))) == 1
    assert [entry["rule"] for entry in stored(order).lifted] == ["blank-size"]
    clear = shop.draft()
    assert (
        times(lambda: client.post(at("api-order-send", clear), headers=based_on(1)))
        == DRAFT_AND_DOCUMENT + WITHOUT_PRIVATE_FACTS
    )
    assert stored(clear).state == "sent"


def test_what_was_sent_is_not_judged_again(times: Times) -> None:
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=1)
    assert times(lambda: signed_in("ravi").get(at("order-page", order))) == 0
    assert times(lambda: caller().get(at("api-order-detail", order))) == 0


def test_a_revision_is_judged_once(times: Times) -> None:
    order = shop.brought_to("at the lab")
    assert times(lambda: amend_order(order=order, actor=shop.dispenser())) == 1


def test_only_what_was_lifted_on_an_earlier_day_is_also_looked_at_as_of_that_day(
    times: Times, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A finding that speaks of the day of the order is no longer word for word what was lifted."""
    person = shop.patient()
    expired = shop.prescription(person, expires_on=timezone.localdate() - timedelta(days=5))
    order = shop.draft(patient=person, prescription=expired)
    lift(order=order, actor=shop.dispenser(), version=1, rule="prescription-in-date", reason="Lost on holiday")
    assert times(lambda: judge(stored(order))) == 1
    on_the_day_after(monkeypatch)
    assert times(lambda: judge(stored(order))) == 2
