"""A protected patient's spectacles are handed over by a registered person; everybody else's by anybody here."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from rest_framework.test import APIClient

from dispensing.models import Practice, StaffUser
from orders.models import Order, OrderEvent
from orders.progress import CannotHappen, EventKind
from orders.services.errors import NotRegistered
from orders.services.events import record_event
from tests.orders import shop
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db


def ready(order: Order) -> Any:
    """As if sent and come back: what the law says about collecting does not hang on how it was sent."""
    order = shop.brought_to("ready to collect", order)
    shop.delivery(order, "sent")
    return order


def at(order: Order) -> str:
    return reverse("order-hand-over", args=[order.public_id])


def by_program(order: Order) -> str:
    return reverse("api-order-hand-overs", args=[order.public_id])


def asked_of(order: Order, **also: str) -> dict[str, str]:
    """What is asked at a hand-over, answered by the right person."""
    return {
        "reference": order.patient.reference,
        "born_on": order.patient.born_on.isoformat(),
        "given_to": "patient",
        "fit": "good",
        "patients_copy": "printed",
        **also,
    }


def child_order(years: int = 9) -> Any:
    born = timezone.localdate() - timedelta(days=round(years * 365.2425))
    return ready(shop.draft(patient=shop.patient(born_on=born)))


def hand_over(order: Order, who: StaffUser | None, **when: Any) -> OrderEvent:
    return record_event(order=order, kind=EventKind.HANDED_OVER, actor=who, **when)


@pytest.mark.parametrize("who", ["ravi", "ines"])
def test_a_registered_dispenser_or_manager_hands_a_childs_pair_over(who: str) -> None:
    order = child_order()
    hand_over(order, person(who))
    assert Order.objects.get(pk=order.pk).place == "handed over"


def test_the_front_desk_may_not_hand_a_childs_pair_over() -> None:
    order = child_order()
    with pytest.raises(NotRegistered, match="is 9 years old: only a dispenser or manager with a registration number"):
        hand_over(order, person("dora"))
    assert Order.objects.get(pk=order.pk).place == "ready to collect"
    assert not order.events.filter(kind="handed over").exists()


def test_a_dispenser_without_a_registration_number_may_not_either() -> None:
    with pytest.raises(NotRegistered):
        hand_over(child_order(), person("tom", role="dispenser", registration=" "))


def test_a_number_does_not_make_the_front_desk_a_dispenser() -> None:
    with pytest.raises(NotRegistered):
        hand_over(child_order(), person("dot", role="front_desk", registration="D-1"))


def test_nobody_named_hands_nothing_to_a_child() -> None:
    with pytest.raises(NotRegistered):
        hand_over(child_order(), None)


def test_the_registered_sight_impaired_are_protected_at_any_age() -> None:
    order = ready(shop.draft(patient=shop.patient(sight_impaired=True)))
    with pytest.raises(NotRegistered, match="registered as sight-impaired"):
        hand_over(order, person("dora"))


def test_the_age_on_the_day_of_collection_counts() -> None:
    order = ready(shop.draft(patient=shop.patient(born_on=datetime(2010, 5, 20).date())))
    noon = datetime(2026, 5, 19, 12, tzinfo=UTC)
    with pytest.raises(NotRegistered, match="is 15 years old"):
        hand_over(order, person("dora"), at=noon)
    hand_over(order, person("dora"), at=noon + timedelta(days=1))


def test_an_adults_pair_is_handed_over_by_the_front_desk() -> None:
    order = ready(shop.draft())
    hand_over(order, person("dora"))
    assert Order.objects.get(pk=order.pk).place == "handed over"


@pytest.mark.parametrize(
    ("place", "kind", "then"),
    [
        ("in, to be checked", EventKind.PASSED, "checked, patient not told"),
        ("ready to collect", EventKind.HANDED_OVER, "handed over"),
    ],
)
def test_the_front_desk_names_the_registered_person_who_took_part(place: str, kind: EventKind, then: str) -> None:
    order = shop.brought_to(place, shop.draft(patient=shop.patient(sight_impaired=True)))
    for nobody in (None, person("dot", role="front_desk", registration="D-1")):
        with pytest.raises(NotRegistered, match="Name the one who took part"):
            record_event(order=order, kind=kind, actor=person("dora"), registered=nobody)
    event = record_event(order=order, kind=kind, actor=person("dora"), registered=person("ravi"))
    assert (event.actor, event.registered) == (person("dora"), person("ravi"))
    assert Order.objects.get(pk=order.pk).place == then


def test_a_registered_person_who_notes_it_is_the_one_who_took_part_and_for_others_nobody_is_kept() -> None:
    assert hand_over(child_order(), person("ines")).registered == person("ines")
    assert hand_over(ready(shop.draft(patient=shop.patient("P-90002"))), person("ines")).registered is None


@pytest.mark.parametrize(("country", "refused"), [("GB", True), ("DE", False), ("US", False)])
def test_the_law_is_kept_where_it_is_law(country: str, refused: bool) -> None:
    order = child_order()
    Practice.objects.update(country=country)
    if refused:
        with pytest.raises(NotRegistered):
            hand_over(order, person("dora"))
    else:
        assert hand_over(order, person("dora")).kind == "handed over"


def test_page_and_api_take_the_name_of_a_registered_person_and_of_nobody_else() -> None:
    person("ravi")
    order = child_order()
    page = signed_in("dora").get(at(order)).content.decode()
    assert '<option value="ravi">' in page
    assert '<option value="dora">' not in page
    client = APIClient()
    client.force_authenticate(person("dora"))
    refused = client.post(by_program(order), asked_of(order, registered="dora"), format="json")
    assert refused.status_code == 400
    assert "registered dispenser or manager" in str(refused.data)
    shown = signed_in("dora").post(at(order), asked_of(order, registered="ravi"), follow=True).content.decode()
    assert "Ravi Castellan</bdi>, D-10442" in shown
    assert Order.objects.get(pk=order.pk).place == "handed over"
    grown = ready(shop.draft(patient=shop.patient("P-90002")))
    assert 'value="ravi"' not in signed_in("dora").get(at(grown)).content.decode()


def test_other_events_of_a_child_are_noted_by_anybody() -> None:
    order = child_order()
    record_event(order=order, kind=EventKind.RETURNED, actor=person("dora"))
    assert Order.objects.get(pk=order.pk).place == "returned to the lab"


def test_a_pair_that_is_not_ready_is_refused_for_that_and_not_for_who_asks() -> None:
    order = shop.brought_to("in, to be checked", shop.draft(patient=shop.patient(sight_impaired=True)))
    for who in ("dora", "ravi"):
        with pytest.raises(CannotHappen, match="at “in, to be checked”, so “Handed over” cannot be noted"):
            hand_over(order, person(who))


def test_the_page_says_why_the_hand_over_is_refused() -> None:
    order = child_order()
    page = signed_in("dora").post(at(order), asked_of(order))
    assert "only a dispenser or manager with a registration number" in page.content.decode()
    assert Order.objects.get(pk=order.pk).place == "ready to collect"


def test_the_api_refuses_with_the_reason_and_lets_the_registered_through() -> None:
    order = child_order()
    client = APIClient()
    client.force_authenticate(person("dora"))
    refused = client.post(by_program(order), asked_of(order), format="json")
    assert refused.status_code == 403
    assert "registration number" in str(refused.data["detail"])
    client.force_authenticate(person("ravi"))
    assert client.post(by_program(order), asked_of(order), format="json").status_code == 201
