"""The pages of figures: every picture has its table, the CSV is harmless, and only what is there is counted."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from xml.etree import ElementTree

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.documents import of_values
from orders.documents.finished_pair import FinishedReadings
from orders.figure_queries import readings_since
from orders.models import FinishedReading, Order
from orders.services.finished_pairs import record_reading
from orders.services.sending import send_order
from tests.orders import shop
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db


def sent(**fields: Any) -> Order:
    order = shop.draft(**fields)
    send_order(order=order, actor=shop.dispenser(), version=1)
    order.documents.get().deliveries.update(state="sent")
    return Order.objects.get(pk=order.pk)


def read(order: Order, power: float = -2.25, **also: Any) -> FinishedReading:
    eyes = {"right": {"sphere": power, "pd_mm": 32.0}, "left": {"sphere": -2.0, "pd_mm": 31.5}}
    found = of_values(FinishedReadings, {"format": "finished-readings/1", **eyes})
    return record_reading(order=order, actor=person("ravi"), readings=found, **also)


def pages(name: str, **asked: str) -> Any:
    return signed_in("ines").get(reverse(name), asked)


def day(ago: int) -> Any:
    return timezone.localdate() - timedelta(days=ago)


def test_what_was_read_is_told_with_lab_design_and_how_far_off_it_was() -> None:
    order = sent()
    read(order, -2.31)
    found = {(row.lab, row.design, row.number, row.quantity, round(row.error, 2)) for row in readings_since(day(1))}
    expected = ("Quay Street Lab", "Single vision", order.number, "meridian_high")
    assert (*expected, -0.06) in found
    assert (*expected, 0.0) in found


def test_a_second_readers_reading_is_no_second_pair_and_an_old_one_is_left_out() -> None:
    order, old = sent(), sent(patient=shop.patient("P-90002"))
    first = read(order)
    counted = len(list(readings_since(day(1))))
    eyes = {"right": {"sphere": -2.5}, "left": {"sphere": -2.0}}
    again = of_values(FinishedReadings, {"format": "finished-readings/1", **eyes})
    record_reading(order=order, actor=person("ines"), readings=again, second_of=first)
    read(old, at=timezone.now() - timedelta(days=200))
    assert len(list(readings_since(day(1)))) == counted
    assert len(list(readings_since(day(300)))) > counted


def test_each_row_has_its_picture_and_its_pairs() -> None:
    read(sent(), -2.31)
    html = pages("lab-hand").content.decode()
    assert "Power, stronger meridian" in html
    assert "−0.03 D" in html
    assert "Too few pairs" in html
    asked = {"lab": "Quay Street Lab", "design": "", "quantity": "meridian_high", "months": "12"}
    picture = pages("lab-hand-chart", **asked)
    assert picture.headers["Content-Type"] == "image/svg+xml"
    assert ElementTree.fromstring(picture.content).tag.endswith("svg")
    assert "D-00001" in pages("lab-hand-pairs", **asked).content.decode()
    assert pages("lab-hand-chart", **{**asked, "lab": "Elsewhere"}).status_code == 404


@pytest.mark.either_database
def test_a_period_that_is_not_offered_is_said_and_the_usual_one_is_shown_as_chosen() -> None:
    html = pages("lab-hand", months="77").content.decode()
    assert "There is no such period to choose; a year is shown." in html
    assert '<option value="12" selected>' in html
    assert "There is no such period" not in pages("lab-hand", months="3").content.decode()


def test_nothing_yet_is_said_and_not_drawn() -> None:
    for name, says in (("lab-hand", "Nothing was read"), ("figures", "No order was sent")):
        html = pages(name).content.decode()
        assert says in html
        assert "<img" not in html.split("<main")[1]
