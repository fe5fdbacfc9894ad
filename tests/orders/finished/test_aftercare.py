"""Adjustments, repairs and complaints after a hand-over."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from rest_framework.test import APIClient

from orders.models import AftercareNote, Order
from orders.progress import CannotHappen, EventKind
from orders.services.aftercare import note_aftercare
from tests.orders import shop
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db


def handed_over() -> Order:
    order = shop.brought_to("handed over")
    shop.delivery(order, "sent")
    return order


def noted(order: Order, kind: str, **told: str) -> AftercareNote:
    return note_aftercare(order=order, actor=person("dora"), kind=EventKind(kind), **told)


SWIMS = "The floor swims when I walk, worst on the stairs"


def test_a_complaint_keeps_the_wearers_words_what_was_found_and_why() -> None:
    order, bystander = handed_over(), handed_over()
    told = {"words": SWIMS, "findings": "Crosses too high", "cause": "measurement", "whose": "practice"}
    row = noted(order, "complaint", **told)
    assert {name: getattr(row, name) for name in told} == told
    assert (row.event.order, row.event.kind) == (order, "complaint")
    assert Order.objects.get(pk=order.pk).place == "handed over"
    assert not bystander.events.filter(kind="complaint").exists()


def test_a_repair_says_which_part_and_how_and_nothing_of_a_complaint() -> None:
    row = noted(handed_over(), "repaired", part="hinge", done="Screw replaced", words="It rattles", cause="wear")
    assert (row.part, row.done, row.words, row.cause) == ("hinge", "Screw replaced", "", "")


@pytest.mark.parametrize(
    ("kind", "told", "missing"),
    [
        ("adjusted", {}, {"done"}),
        ("repaired", {"done": "Glued"}, {"part"}),
        ("repaired", {"part": "rim", "done": " "}, {"done"}),
        ("complaint", {"findings": "Too high"}, {"words"}),
        ("complaint", {"words": SWIMS, "cause": "height"}, {"whose"}),
    ],
)
def test_each_says_what_it_has_to_say(kind: str, told: dict[str, str], missing: set[str]) -> None:
    order = handed_over()
    with pytest.raises(ValidationError) as refused:
        noted(order, kind, **told)
    assert set(refused.value.message_dict) == missing
    assert AftercareNote.objects.count() == 0


def test_nothing_comes_after_what_was_not_handed_over() -> None:
    with pytest.raises(CannotHappen):
        noted(shop.brought_to("ready to collect"), "complaint", words=SWIMS)
    assert AftercareNote.objects.count() == 0


def test_the_page_leads_from_a_complaint_to_what_differs_and_the_record_keeps_the_words() -> None:
    order = handed_over()
    client = signed_in("dora")
    answer = client.post(reverse("order-aftercare", args=[order.public_id]), {"kind": "complaint", "words": SWIMS})
    assert answer.headers["Location"] == reverse("order-what-differs", args=[order.public_id])
    assert SWIMS in client.get(reverse("order-page", args=[order.public_id])).content.decode()


def test_a_program_notes_the_same_and_is_refused_for_the_same() -> None:
    order = handed_over()
    client = APIClient()
    client.force_authenticate(person("dora"))
    address = reverse("api-order-aftercare", args=[order.public_id])

    def answer(**body: Any) -> tuple[int, Any]:
        told = client.post(address, body, format="json")
        return told.status_code, told.json()

    assert answer(kind="repaired", done="Glued")[0] == 400
    status, shown = answer(kind="adjusted", done="Pads opened")
    assert (status, shown["kind"], shown["note"]) == (201, "adjusted", "Pads opened")
    assert AftercareNote.objects.get().done == "Pads opened"
