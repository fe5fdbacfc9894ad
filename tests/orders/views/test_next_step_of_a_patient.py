"""The one main button of a patient's page: the next step for this person and this patient, everything else quieter."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.models import Patient
from orders.progress import Place
from tests.builders import a_patient, a_prescription
from tests.orders import shop
from tests.people import signed_in

pytestmark = pytest.mark.django_db

TODAY = timezone.localdate()


def main_buttons(patient: Patient, who: str) -> list[str]:
    text = signed_in(who).get(reverse("patient-page", args=[patient.public_id])).content.decode()
    text = text.split("<main")[1].split("</main>")[0]  # without what covers a page once its person is signed out
    found = re.findall(r'<(?:a|button)[^>]*class="[^"]*\bprimary\b[^"]*"[^>]*>(.*?)</(?:a|button)>', text, re.DOTALL)
    return [words.strip() for words in found]


def in_date(patient: Patient) -> None:
    a_prescription(patient, tested_on=TODAY - timedelta(days=5), expires_on=TODAY + timedelta(days=700))


@pytest.mark.parametrize("who", ["dora", "ravi", "ines"])
def test_a_patient_without_a_prescription_gets_one_first(who: str) -> None:
    assert main_buttons(a_patient(), who) == ["Take in a prescription"]


def test_an_expired_prescription_comes_before_a_fitting() -> None:
    patient = a_patient()
    a_prescription(patient, tested_on=TODAY - timedelta(days=900), expires_on=TODAY - timedelta(days=1))
    assert main_buttons(patient, "ravi") == ["Take in a prescription"]


def test_a_prescription_that_is_valid_today_leads_to_the_fitting_and_the_desk_to_the_next_prescription() -> None:
    patient, other = a_patient(), a_patient()
    a_prescription(patient, tested_on=TODAY - timedelta(days=5), expires_on=TODAY)
    in_date(other)
    shop.fitting(other, shop.frame())
    assert main_buttons(patient, "ravi") == ["Record a fitting"]
    assert main_buttons(patient, "dora") == ["Take in a prescription"]


@pytest.mark.parametrize(("days_ago", "next_step"), [(5, "New order"), (6, "Record a fitting")])
def test_a_fitting_from_before_the_prescription_is_taken_again(days_ago: int, next_step: str) -> None:
    patient = a_patient()
    in_date(patient)
    fitting = shop.fitting(patient, shop.frame())
    fitting.measured_on = TODAY - timedelta(days=days_ago)
    fitting.save()
    assert main_buttons(patient, "ravi") == [next_step]


WAITING: list[tuple[str, str, dict[str, str]]] = [
    ("draft", "ravi", {"words": "Go on with draft {}"}),
    ("draft", "dora", {"words": "Take in a prescription"}),
    ("query to answer", "dora", {"words": "Answer the lab about {}"}),
    ("in, to be checked", "ravi", {"words": "Check the pair of {}"}),
    ("checked, patient not told", "dora", {"words": "Tell the patient: {} is here"}),
    ("ready to collect", "dora", {"words": "Hand over {}"}),
    ("at the lab", "ravi", {"words": "New order"}),
    ("handed over", "dora", {"words": "Take in a prescription"}),
]


@pytest.mark.parametrize(("place", "who", "expected"), WAITING)
def test_an_order_that_waits_for_the_practice_is_gone_on_with_first(
    place: str, who: str, expected: dict[str, Any]
) -> None:
    order = shop.draft()
    assert place in {str(one) for one in Place}
    type(order).objects.filter(pk=order.pk).update(place=place)
    in_date(order.patient)
    shop.fitting(order.patient, shop.frame())
    assert main_buttons(order.patient, who) == [expected["words"].format(order.number)]


def test_of_two_waiting_orders_the_one_nearer_to_the_wearer_comes_first() -> None:
    older, newer = shop.draft(), shop.draft()
    type(older).objects.filter(pk=older.pk).update(place="ready to collect", patient=newer.patient_id)
    assert main_buttons(newer.patient, "ravi") == [f"Hand over {older.number}"]


def test_a_new_order_stays_one_press_away_whatever_the_main_button_is() -> None:
    patient = a_patient()
    in_date(patient)
    for _ in range(2):
        text = signed_in("ravi").get(reverse("patient-page", args=[patient.public_id])).content.decode()
        assert text.count(">New order</button>") == 1
        shop.fitting(patient, shop.frame())
