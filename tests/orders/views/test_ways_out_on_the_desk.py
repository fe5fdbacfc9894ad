"""The computed ways out on the order desk: shown beside their finding, applied by one click, never over others."""

from __future__ import annotations

import json
import re
from html import unescape
from typing import Any

import pytest
from django.urls import reverse

from dispensing.models import AuditEvent
from orders.models import Order
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import HTMX
from tests.people import Answer, person, signed_in

pytestmark = pytest.mark.django_db


def order_with_too_small_a_blank(**fields: Any) -> Order:
    """52 wide with 65 mm blanks: both lenses need about 68; 70 is listed."""
    patient, frame = shop.patient(), shop.frame(a_mm=54, ed_mm=56)
    lens = {**shop.LENS, "blank_mm": 65.0}
    chosen = {"fitting": shop.fitting(patient, frame), "lenses": {"right": lens, "left": lens}} | fields
    return shop.draft(patient=patient, frame=frame, **chosen)


def fragment(order: Order, version: int | None = None) -> Answer:
    address = reverse("order-remedies", args=[order.public_id])
    return signed_in("ravi").get(address, {"version": order.version if version is None else version})


def offered(response: Answer) -> dict[str, dict[str, Any]]:
    """Button text → change."""
    buttons = re.findall(r'name="change" value="([^"]*)"><button[^>]*>([^<]*)</button>', response.content.decode())
    return {unescape(text): json.loads(unescape(change)) for change, text in buttons}


def taken(response: Answer) -> dict[str, list[str]]:
    """What the page is to put into its fields."""
    found = re.search(r'<script id="taken" type="application/json">(.*?)</script>', response.content.decode())
    return dict(json.loads(there(found)[1]))


def apply(order: Order, change: Any, version: int | None = None, who: str = "ravi") -> Answer:
    posted = {"change": json.dumps(change), "version": order.version if version is None else version}
    return signed_in(who).post(reverse("order-apply", args=[order.public_id]), posted, headers={"HX-Request": "true"})


def test_the_page_asks_for_the_ways_out_after_it_is_there() -> None:
    order = order_with_too_small_a_blank()
    page = signed_in("ravi").get(reverse("order-page", args=[order.public_id])).content.decode()
    assert f'data-ways="{reverse("order-remedies", args=[order.public_id])}"' in page
    assert '<div class="ways" data-ways-of="blank-size-both-stop"></div>' in page


def test_a_blank_too_small_offers_the_larger_one_beside_its_stop() -> None:
    response = fragment(order_with_too_small_a_blank())
    changes = offered(response)
    assert changes["Order the 70 mm blank for both lenses."] == {
        "lenses.right.blank_mm": 70.0,
        "lenses.left.blank_mm": 70.0,
    }
    assert '<div data-ways-of="blank-size-both-stop">' in response.content.decode()


def test_one_click_puts_it_into_the_draft_and_the_stop_is_gone() -> None:
    order = order_with_too_small_a_blank()
    response = apply(order, {"lenses.right.blank_mm": 70.0, "lenses.left.blank_mm": 70.0})
    saved = Order.objects.get(pk=order.pk)
    assert (saved.lenses["right"]["blank_mm"], saved.lenses["left"]["blank_mm"]) == (70.0, 70.0)
    assert (saved.version, saved.saved_by) == (2, person("ravi"))
    text = response.content.decode()
    assert '<output id="version-now">2</output>' in text
    assert taken(response)["right-blank_mm"] == ["70"]
    assert "needs a blank of" not in text
    assert AuditEvent.objects.filter(verb="order.save", record_id=order.public_id).exists()


def test_a_choice_set_to_nothing_leaves_the_draft() -> None:
    order = order_with_too_small_a_blank()
    apply(order, {"lenses.right.blank_mm": None})
    assert "blank_mm" not in Order.objects.get(pk=order.pk).lenses["right"]


def test_a_draft_saved_by_somebody_else_is_not_overwritten() -> None:
    order = order_with_too_small_a_blank()
    apply(order, {"lenses.right.blank_mm": 70.0})
    second = apply(order, {"lenses.right.blank_mm": 65.0}, version=1, who="ines")
    assert Order.objects.get(pk=order.pk).lenses["right"]["blank_mm"] == 70.0
    assert "Ravi Castellan" in second.content.decode()


def test_another_frame_is_advice_that_leads_to_measuring_in_it() -> None:
    smaller = shop.frame(model="Alder 50", a_mm=50, b_mm=38, dbl_mm=17, ed_mm=52, in_stock=1)
    order = order_with_too_small_a_blank()
    text = fragment(order).content.decode()
    assert "Choose the frame Alder 50 (50□17, 38 deep) and measure in it." in text
    assert reverse("fitting-record", args=[order.patient.public_id, smaller.public_id]) in text


def test_frames_of_patients_and_frames_out_of_stock_are_not_offered() -> None:
    shop.frame(model="Alder 50", a_mm=50, b_mm=38, dbl_mm=17, ed_mm=52, in_stock=0)
    shop.frame(model="Alder 51", a_mm=51, b_mm=38, dbl_mm=17, ed_mm=53, in_stock=1, owner=shop.patient("P-90002"))
    text = fragment(order_with_too_small_a_blank()).content.decode()
    assert "Choose the frame" not in text


def test_a_frame_cannot_be_applied_over_the_fitting_measured_in_another() -> None:
    order = order_with_too_small_a_blank()
    response = apply(order, {"frame": {"a_mm": 40.0}})
    assert "change the record itself" in response.content.decode()
    assert Order.objects.get(pk=order.pk).version == 1


@pytest.mark.parametrize("change", [{"lenses.right.shine": 1}, {"lenses.right.blank_mm": "wide"}, {"lenses.both.x": 1}])
def test_a_change_that_no_order_can_have_is_refused_in_words(change: dict[str, Any]) -> None:
    order = order_with_too_small_a_blank()
    response = apply(order, change)
    assert "does not fit the order" in response.content.decode()
    assert Order.objects.get(pk=order.pk).version == 1


@pytest.mark.parametrize("posted", ["", "[1]", "{"])
def test_what_is_no_change_at_all_is_a_bad_request(posted: str) -> None:
    order = order_with_too_small_a_blank()
    address = reverse("order-apply", args=[order.public_id])
    assert signed_in("ravi").post(address, {"change": posted, "version": 1}).status_code == 400


def test_a_later_day_is_put_into_the_draft_and_into_its_field() -> None:
    from datetime import timedelta

    from django.utils import timezone

    order = order_with_too_small_a_blank(needed_on=timezone.localdate() + timedelta(days=1))
    day = next(change for change in offered(fragment(order)).values() if "needed_on" in change)
    response = apply(order, day)
    saved = there(Order.objects.get(pk=order.pk).needed_on)
    assert saved.isoformat() == day["needed_on"]
    assert taken(response)["needed_on"] == [f"{saved:%d/%m/%Y}"]


def test_ways_out_of_an_older_state_of_the_draft_are_not_shown() -> None:
    assert fragment(order_with_too_small_a_blank(), version=7).status_code == 204


def test_the_front_desk_neither_sees_nor_applies_ways_out() -> None:
    order = order_with_too_small_a_blank()
    assert signed_in("dora").get(reverse("order-remedies", args=[order.public_id])).status_code == 403
    assert apply(order, {"lenses.right.blank_mm": 70.0}, who="dora").status_code == 403


def test_findings_of_both_eyes_are_confirmed_by_one_button() -> None:
    patient, frame = shop.patient(), shop.frame(a_mm=62, ed_mm=64)
    order = shop.draft(patient=patient, frame=frame, fitting=shop.fitting(patient, frame))
    client = signed_in("ravi")
    page = client.get(reverse("order-page", args=[order.public_id])).content.decode()
    assert "Confirm for both eyes as Ravi Castellan" in page
    posted = {"rule": "decentration", "eye": "both", "version": order.version}
    after = client.post(reverse("order-settle", args=[order.public_id]), posted, headers=HTMX).content.decode()
    assert "Confirmed by Ravi Castellan" in after
    assert [entry["eye"] for entry in Order.objects.get(pk=order.pk).lifted] == ["right", "left"]
