"""What is usually ordered from a lab, and that a new draft begins with it and with nothing that is not on offer."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.models import AuditEvent
from dispensing.services.meanwhile import ChangedMeanwhile
from orders.models import Lab, Order
from orders.services.usual import set_usual, usual_job, usual_lab, usual_lenses
from tests.known import there
from tests.orders import shop
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db

LENSES = {"distance": {"design": "sv", "treatments": ["ar"]}, "distance_and_near": {"design": "prog", "treatments": []}}


def usually(lab: Lab, **fields: Any) -> Lab:
    return set_usual(lab=lab, actor=person("ines"), **fields)


def test_only_one_lab_is_the_usual_one_and_each_change_is_on_the_trail_by_name() -> None:
    first, second = shop.lab("A Lab"), shop.lab("B Lab")
    usually(first, usual=True, usual_lenses=LENSES)
    usually(second, usual=True)
    assert [lab.usual for lab in Lab.objects.order_by("name")] == [False, True]
    assert usual_lab() == second
    told = AuditEvent.objects.filter(verb="lab.change", record_id=first.public_id).order_by("pk")
    assert told[0].changes["usual_lenses"][1] == (
        "distance: Single vision, Anti-reflection; distance and near: Progressive"
    )
    assert told[1].changes == {"usual": ["True", "False"]}


def test_a_usual_lab_that_takes_no_orders_is_none() -> None:
    closed, last = shop.lab("A Lab"), shop.lab("B Lab")
    usually(closed, usual=True)
    Lab.objects.filter(pk=closed.pk).update(active=False)
    shop.draft(lab=last)
    assert usual_lab() == last


def test_the_job_is_the_lab_s_and_the_day_its_working_days_away() -> None:
    lab = usually(shop.lab(working_days=5), usual_supply="edged", usual_frame_source="to_follow")
    monday = date(2026, 11, 30)
    assert usual_job(lab, monday) == {
        "supply": "edged",
        "frame_source": "to_follow",
        "needed_on": monday + timedelta(days=7),
    }
    assert usual_job(None, monday) == {}


def test_the_lenses_are_those_for_the_use_with_the_corridor_that_the_heights_suggest() -> None:
    lab, patient = usually(shop.lab(), usual_lenses=LENSES), shop.patient()
    far = shop.prescription(patient)
    high = shop.fitting(patient, shop.frame(model="High"))
    low = shop.fitting(patient, shop.frame(model="Low"), height_mm_left=17.5)
    assert usual_lenses(lab, far, high)["right"] == {"design": "sv", "treatments": ["ar"]}
    both = usual_lenses(lab, far, high, "distance_and_near")
    assert both["left"] == both["right"] == {"design": "prog", "treatments": [], "corridor_mm": 14.0}
    assert "corridor_mm" not in usual_lenses(lab, far, low, "distance_and_near")["right"]
    assert usual_lenses(lab, far, high, "near")["right"] == {"treatments": []}
    assert usual_lenses(None, None, None)["right"] == {"treatments": []}
    balanced = usual_lenses(lab, shop.prescription(patient, left={"balance": True}), high)
    assert [lens.get("instruction") for lens in balanced.values()] == [None, "balance"]


def test_what_the_catalogue_no_longer_has_is_left_out() -> None:
    lab = usually(shop.lab(), usual_lenses={"distance": {"design": "gone", "treatments": ["gone", "ar"]}})
    assert usual_lenses(lab, shop.prescription(shop.patient()), None)["right"] == {"treatments": ["ar"]}


def test_a_new_order_begins_with_it_and_two_pairs_each_with_their_own() -> None:
    lab = usually(shop.lab(), usual=True, usual_frame_source="enclosed", usual_lenses=LENSES)
    patient, bystander = shop.patient(), shop.draft(patient=shop.patient("P-90077"), remarks="Hers")
    shop.prescription(patient)
    shop.fitting(patient, shop.frame())
    signed_in("ravi").post(reverse("order-start", args=[patient.public_id]))
    order = Order.objects.get(patient=patient)
    assert (order.lab, order.frame_source) == (lab, "enclosed")
    assert there(order.needed_on) > timezone.localdate()
    assert order.lenses == {"right": LENSES["distance"], "left": LENSES["distance"]}
    signed_in("ravi").post(reverse("order-start", args=[patient.public_id]), {"pairs": "progressive-and-office"})
    designs = [row.lenses["right"].get("design") for row in Order.objects.filter(patient=patient).order_by("pk")]
    assert designs == ["sv", "prog", None]
    assert Order.objects.get(pk=bystander.pk).remarks == "Hers"


def test_a_manager_sets_it_on_a_page_and_the_second_of_two_is_told() -> None:
    lab = shop.lab()
    address = reverse("lab-usual", args=[lab.public_id])
    page = signed_in("ines").get(address).content.decode()
    assert "Single vision" in page
    typed = {
        "version": lab.version,
        "usual": "on",
        "usual_supply": "edged",
        "usual_frame_source": "enclosed",
        "design-near": "sv",
        "treatments-near": ["ar"],
    }
    assert signed_in("ines").post(address, typed).status_code == 302
    lab.refresh_from_db()
    assert lab.usual_lenses == {"near": {"design": "sv", "treatments": ["ar"]}}
    again = signed_in("ines").post(address, {**typed, "usual_supply": "uncut"})
    assert again.status_code == 200
    lab.refresh_from_db()
    assert lab.usual_supply == "edged"
    with pytest.raises(ChangedMeanwhile):
        set_usual(lab=lab, actor=None, version=1, usual_supply="uncut")


def test_a_design_that_is_not_in_the_catalogue_cannot_be_set() -> None:
    lab = shop.lab()
    typed = {"version": lab.version, "usual_supply": "fitted", "design-near": "made-up", "treatments-near": ["none"]}
    signed_in("ines").post(reverse("lab-usual", args=[lab.public_id]), typed)
    lab.refresh_from_db()
    assert lab.usual_lenses == {}
