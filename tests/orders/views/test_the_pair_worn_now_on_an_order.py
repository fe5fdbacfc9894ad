"""The pair worn now goes with the order: shown beside the new powers, compared, frozen, or left out if it is old."""

from __future__ import annotations

import json
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.services.worn_pairs import correct_worn_pair
from orders.documents.canonical import plain
from orders.facts import order_document
from orders.models import Order
from orders.services.judging import judge
from orders.services.lifting import lift
from orders.services.sending import send_order
from tests.orders import shop
from tests.orders.views.desk import page_of, stored
from tests.people import signed_in

pytestmark = pytest.mark.django_db


def for_a_new_patient(worn: dict[str, Any] | None = None, **sphere: float) -> Order:
    """No earlier prescription; the pair worn now reads −2.25 and −2.00 unless told otherwise."""
    patient = shop.patient()
    prescription = shop.prescription(
        patient, {"sphere": sphere.get("right", -2.25)}, {"sphere": sphere.get("left", -2.0)}
    )
    if worn is not None:
        shop.worn_pair(patient, **worn)
    return shop.draft(patient=patient, prescription=prescription)


def said(order: Order) -> dict[str, Any]:
    patient: dict[str, Any] = plain(order_document(order))["patient"]
    return patient


def rules_of(order: Order) -> set[str]:
    return {part.rule for part in judge(order).open_findings}


def test_a_slip_of_a_new_patient_is_asked_about_once_somebody_read_the_pair_worn_now() -> None:
    assert not rules_of(for_a_new_patient(right=-4.25, left=-4.0))
    order = for_a_new_patient({}, right=-4.25, left=-4.0)
    assert rules_of(order) == {"present-spectacles"}
    html = unescape(page_of(order))
    assert "Both eyes changed much from the pair worn now: the mean sphere by −2.00 in each." in html
    table = html[html.index("<caption>Pair worn now") :]
    table = table[: table.index("</table>")]
    assert ": distance</caption>" in table
    assert table.index("−2.25") < table.index("−2.00")
    assert reverse("worn-pair-new", args=[order.patient.public_id]) in html


def test_the_document_holds_what_was_read_and_keeps_the_rest_under_extra() -> None:
    facts = {"kind": "progressive", "age_years": 3, "dislikes": "Heavy", "tasks": "Piano", "distances": "60 cm"}
    eye = {"sphere": -2.5, "cylinder": -0.5, "axis": 90, "height_mm": 19.5}
    worn = said(for_a_new_patient({"right": eye, **facts}))["present_spectacles"]
    assert worn["read_on"] == timezone.localdate().isoformat()
    assert (worn["right"]["sphere"], worn["right"]["cylinder"], worn["right"]["axis"]) == (-2.5, -0.5, 90.0)
    assert (worn["left"]["sphere"], worn["use"]) == (-2.0, "distance")
    assert worn["extra"] == {
        "design_kind": "progressive",
        "age_years": 3.0,
        "dislikes": "Heavy",
        "tasks": "Piano",
        "distances": "60 cm",
        "right": {"height_mm": 19.5},
    }


def test_without_a_reading_or_with_an_old_one_the_document_is_as_it_was() -> None:
    assert "present_spectacles" not in said(for_a_new_patient())
    old = {"read_on": timezone.localdate() - timedelta(days=400)}
    assert "present_spectacles" not in said(for_a_new_patient(old))


def test_a_distance_pair_is_taken_before_readers_and_readers_alone_are_not_compared() -> None:
    readers = {"right": {"sphere": 2.5}, "left": {"sphere": 2.5}, "use": "near"}
    order = for_a_new_patient(readers)
    assert said(order)["present_spectacles"]["use"] == "near"
    assert not rules_of(order)
    shop.worn_pair(order.patient, read_on=timezone.localdate() - timedelta(days=9))
    assert said(order)["present_spectacles"]["use"] == "distance"


def test_what_was_sent_keeps_the_pair_as_it_was_read_then() -> None:
    order = for_a_new_patient({"likes": "Light"}, right=-4.25)
    for part in judge(order).open_findings:
        lift(order=order, actor=shop.dispenser(), version=order.version, rule=part.rule, eye=part.eye)
    document = send_order(order=stored(order), actor=shop.dispenser(), version=stored(order).version)
    pair = order.patient.worn_pairs.get()
    correct_worn_pair(actor=None, pair=pair, facts={"likes": "Nothing"}, eyes={"right": {"sphere": 1}})
    kept = json.loads(document.text)["patient"]["present_spectacles"]
    assert (kept["right"]["sphere"], kept["extra"]["likes"]) == (-2.25, "Light")
    page = unescape(signed_in("dora").get(reverse("order-page", args=[order.public_id])).content.decode())
    assert "Light" in page
    assert "Nothing" not in page
