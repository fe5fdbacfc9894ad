"""How an order starts: from the latest records, from a fitting, as a remake of what was sent; never from another's."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from orders.models import Order
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import page_of, text_of
from tests.people import signed_in

pytestmark = pytest.mark.django_db


def test_a_new_order_starts_from_the_latest_prescription_fitting_and_lab() -> None:
    person = shop.patient()
    shop.lab("A Lab")
    prescription, frame = shop.prescription(person), shop.frame()
    fitting = shop.fitting(person, frame)
    shop.draft(patient=shop.patient("P-90011"), lab=shop.lab("Last Lab"))
    answer = signed_in("ravi").post(reverse("order-start", args=[person.public_id]))
    order = Order.objects.get(patient=person)
    assert answer.headers["Location"] == reverse("order-page", args=[order.public_id])
    assert (order.prescription, order.fitting, order.frame) == (prescription, fitting, frame)
    assert there(order.lab).name == "Last Lab"


def test_an_order_started_from_a_fitting_is_made_to_that_fitting() -> None:
    person = shop.patient()
    shop.prescription(person)
    wanted = shop.fitting(person, shop.frame())
    shop.fitting(person, shop.frame(model="Rowan"))
    page = signed_in("ravi").get(reverse("fitting-page", args=[wanted.public_id]))
    assert f'name="fitting" value="{wanted.public_id}"' in text_of(page)
    signed_in("ravi").post(reverse("order-start", args=[person.public_id]), {"fitting": wanted.public_id})
    order = Order.objects.get(patient=person)
    assert (order.fitting, order.frame) == (wanted, wanted.frame)


def test_a_frame_of_the_patients_own_goes_along_with_the_order() -> None:
    person = shop.patient()
    shop.fitting(person, shop.frame(owner=person))
    signed_in("ravi").post(reverse("order-start", args=[person.public_id]))
    assert Order.objects.get(patient=person).frame_source == "own"


def test_a_remake_starts_from_what_was_sent_and_says_of_which_order_it_is() -> None:
    first = shop.draft(remarks="Ring first", needed_on=timezone.localdate() + timedelta(days=9))
    send_order(order=first, actor=shop.dispenser(), version=1)
    assert "Order a remake" in page_of(first)
    asked = {"cause": "flaw", "whose": "lab", "said": "The right lens is scratched"}
    signed_in("ravi").post(reverse("order-remake", args=[first.public_id]), asked)
    again = Order.objects.exclude(pk=first.pk).get()
    assert (again.purpose, again.remake_of, again.state) == ("remake", first, "draft")
    assert (again.lenses, again.fitting, again.lab, again.remarks) == (
        first.lenses,
        first.fitting,
        first.lab,
        "The right lens is scratched",
    )
    assert (again.remake_cause, again.remake_whose) == ("flaw", "lab")
    assert again.needed_on is None


@pytest.mark.parametrize("asked", [{"fitting": "none"}, {"fitting": "theirs"}])
def test_no_order_is_started_from_what_is_not_this_patients(asked: dict[str, Any]) -> None:
    other = shop.draft()
    send_order(order=other, actor=shop.dispenser(), version=1)
    person = shop.patient("P-90077")
    asked = {name: there(other.fitting).public_id if value == "theirs" else value for name, value in asked.items()}
    answer = signed_in("ravi").post(reverse("order-start", args=[person.public_id]), asked)
    assert answer.status_code == 404
    assert not Order.objects.filter(patient=person).exists()


def test_an_order_can_be_started_before_anything_is_measured() -> None:
    person = shop.patient()
    signed_in("ravi").post(reverse("order-start", args=[person.public_id]))
    html = page_of(Order.objects.get(patient=person))
    assert "Nothing has been measured for this patient yet" in html
    assert "Choose a lab" in html
