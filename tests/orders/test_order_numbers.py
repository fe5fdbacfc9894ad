"""A number finds its order however it is typed, said or scanned, in the box in which patients are found too."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from dispensing.models import Practice
from orders.models import Order
from orders.order_numbers import names_its_series, numbers_meant
from orders.queries import order_of_number, orders_of_number
from tests.orders import shop
from tests.orders.views.desk import text_of
from tests.people import signed_in

ON_PAPER = "Order D-00008 revision 2\nPractice Harbour Lane Opticians\nAccount 4711"


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("D-00008", ["D-00008"]),
        (" d-8 ", ["D-00008"]),
        ("d8", ["D-00008"]),
        ("D 8", ["D-00008"]),
        ("8", ["BR2-00008", "D-00008"]),
        ("12", ["BR2-00012", "D-00012"]),
        ("br2-8", ["BR2-00008"]),
        ("Order D-00008 revision 2", ["D-00008"]),
        (ON_PAPER, ["D-00008"]),
        ("D-00008/2", ["D-00008"]),
        ("D-123456", ["D-123456"]),
        ("E-00008", []),
        ("P-00008", []),
        ("Lindqvist", []),
        ("2 April 1985", []),
        ("01632 960222", []),
        ("٨", ["BR2-00008", "D-00008"]),
        ("", []),
        ("\n", []),
        ("D-", []),
        ("D-0000000000000000000008", []),
    ],
)
def test_what_a_text_means_as_a_number(text: str, meant: list[str]) -> None:
    assert numbers_meant(text, ["BR2", "D"]) == meant


def test_only_a_number_with_its_letters_can_mean_nothing_else() -> None:
    assert [names_its_series(text) for text in ("d-8", "Order 8", "8", "Ashe")] == [True, True, False, False]


@pytest.mark.django_db
def test_a_number_from_before_the_prefix_changed_finds_its_order_and_alone_may_mean_two() -> None:
    old = shop.brought_to("at the lab")
    Practice.objects.update(order_prefix="BR2")
    new = shop.brought_to("sent")
    assert (old.number, new.number) == ("D-00001", "BR2-00001")
    assert [order_of_number(text) for text in ("d-1", "br2-1", "1", "2")] == [old, new, None, None]
    assert orders_of_number("1") == [new, old]


@pytest.mark.django_db
def test_a_number_means_the_newest_revision_that_was_sent() -> None:
    sent = shop.brought_to("superseded")
    current = Order.objects.create(number=sent.number, revision=2, patient=sent.patient)
    assert order_of_number(sent.number) == sent
    Order.objects.filter(pk=current.pk).update(sent_at=sent.sent_at)
    assert order_of_number(sent.number) == current


def find(text: str, who: str = "dora", **headers: Any) -> Any:
    return signed_in(who).post(reverse("patient-find"), {"text": text}, headers=headers or None)


@pytest.mark.django_db
@pytest.mark.parametrize("who", ["dora", "ravi", "ines"])
@pytest.mark.parametrize("text", ["d-1", "D-00001", "Order D-00001 revision 1", "1"])
def test_a_number_in_the_patient_finder_opens_the_order(text: str, who: str) -> None:
    order = shop.brought_to("at the lab", shop.draft(patient=shop.patient("P-90022")))
    other = shop.brought_to("sent", shop.draft(patient=shop.patient("P-90033")))
    answer = find(text, who)
    assert answer.status_code == 302
    assert answer["Location"] == reverse("order-page", args=[order.public_id]) != str(other.public_id)


@pytest.mark.django_db
def test_a_bare_number_that_a_patient_has_too_shows_both_and_opens_neither() -> None:
    order = shop.brought_to("at the lab", shop.draft(patient=shop.patient("P-00001")))
    html = text_of(find("1"))
    assert reverse("order-page", args=[order.public_id]) in html
    assert "P-00001" in html


@pytest.mark.django_db
def test_while_typing_the_order_is_named_with_where_it_is() -> None:
    order = shop.brought_to("at the lab", shop.draft(patient=shop.patient("P-90022")))
    html = text_of(find("d-1", **{"HX-Request": "true"}))
    assert f'href="{reverse("order-page", args=[order.public_id])}">Order D-00001: at the lab</a>' in html
    assert "No patient matches" not in html
    assert "No patient matches" in text_of(find("d-2", **{"HX-Request": "true"}))


@pytest.mark.django_db
def test_the_code_of_the_paper_opens_the_pair_at_the_bench() -> None:
    order = shop.brought_to("in, to be checked")
    said = f"Order {order.number} revision 1\nPractice Harbour Lane Opticians\nAccount 4711"
    answer = signed_in("ravi").post(reverse("finished-ticket"), {"number": said})
    assert answer["Location"] == reverse("finished-reading", args=[order.public_id])
