"""Readings of a finished pair are added, never changed; the newest says how it stands; two readers are two people."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection, transaction

from dispensing.documents import of_values
from dispensing.models import AuditEvent, Practice, PracticeRule
from dispensing.services.practice_rules import tighten
from orders.documents.finished_pair import FinishedReadings
from orders.models import FinishedReading, Order
from orders.progress import CannotHappen
from orders.queries import tolerances_in_force
from orders.services.finished_pairs import Standing, record_reading, standing
from orders.services.sending import send_order
from tests.bystanders.writings import a_picture
from tests.known import there
from tests.orders import shop
from tests.people import person

pytestmark = pytest.mark.django_db

GOOD = {"right": {"sphere": -2.25, "pd_mm": 32.0}, "left": {"sphere": -2.0, "pd_mm": 31.5}}


def sent(**fields: Any) -> Order:
    """A pair of −2.25 and −2.00, sent; the lab has it."""
    order = shop.draft(**fields)
    send_order(order=order, actor=shop.dispenser(), version=order.version)
    order.documents.get().deliveries.update(state="sent")
    return Order.objects.get(pk=order.pk)


def readings(**eyes: Any) -> FinishedReadings:
    return of_values(FinishedReadings, {"format": "finished-readings/1", **GOOD, **eyes})


def read(order: Order, who: str = "ravi", **fields: Any) -> FinishedReading:
    return record_reading(order=order, actor=person(who), **{"readings": readings(), **fields})


def test_a_reading_is_stored_with_its_verdict_and_the_pair_is_noted_as_received() -> None:
    order, other = sent(), shop.brought_to("at the lab")
    row = read(order, readings=readings(right={"sphere": -2.75, "pd_mm": 32.0}), note="Twice")
    assert (row.result, row.standard, row.note) == ("return", "iso-21987-2017", "Twice")
    failed = [one for one in row.verdict["items"] if one["result"] == "fail"]
    assert {(one["eye"], one["ordered"], one["found"]) for one in failed} == {("right", -2.25, -2.75)}
    assert Order.objects.get(pk=order.pk).place == "in, to be checked"
    assert Order.objects.get(pk=other.pk).place == "at the lab"
    assert AuditEvent.objects.get(verb="finished.read").patient == order.patient
    assert standing(other) == Standing()


def test_the_newest_reading_says_how_the_pair_stands_and_the_older_one_stays() -> None:
    order = sent()
    first = read(order, readings=readings(right={"sphere": -2.75, "pd_mm": 32.0}))
    assert standing(order).result == "return"
    second = read(Order.objects.get(pk=order.pk))
    assert (standing(order).reading, standing(order).result) == (second, "accept")
    assert FinishedReading.objects.get(pk=first.pk).result == "return"


def test_a_reading_cannot_be_changed_or_deleted_even_in_the_database() -> None:
    row = read(sent(), photos=[("surface", a_picture())], inspection={"surface": {"found": "defect"}})
    assert row.has_defects
    for statement in (
        "UPDATE orders_finishedreading SET result = 'accept'",
        "DELETE FROM orders_finishedreading",
        "UPDATE orders_inspectionphoto SET point = 'edge'",
    ):
        with pytest.raises(DatabaseError, match="cannot be changed"), transaction.atomic():
            connection.cursor().execute(statement)
    assert there(row.photos.first()).file.size > 0


@pytest.mark.parametrize("place", ["draft", "cancelled", "superseded"])
def test_there_is_no_pair_to_read_of_an_order_that_was_not_sent_or_is_no_longer_wanted(place: str) -> None:
    order = shop.brought_to(place)
    with pytest.raises(ValidationError, match=f"is “{place}”: there is no finished pair"):
        read(order)
    assert not FinishedReading.objects.exists()


def test_a_pair_cannot_come_in_before_the_lab_has_the_order() -> None:
    order = sent()
    order.documents.get().deliveries.update(state="queued")
    with pytest.raises(CannotHappen, match="The lab has not got this order yet"):
        read(order)
    assert not FinishedReading.objects.exists()


def test_the_practice_s_own_limit_decides_and_its_standard() -> None:
    order = sent()
    off = readings(right={"sphere": -2.25, "cylinder": None, "pd_mm": 34.0})
    assert read(order, readings=off).result == "accept"
    tighten(
        actor=person("ines"),
        rule="iso-21987-2017",
        limit="horizontal_to_2_weak_pd",
        value=0.3,
        reason="We see the difference",
    )
    assert tolerances_in_force().named("horizontal_to_2_weak_pd").value == 0.3
    assert read(Order.objects.get(pk=order.pk), readings=off).result == "return"
    Practice.objects.update(tolerance_standard="ansi-z80.1-2015")
    assert read(Order.objects.get(pk=order.pk), readings=off).standard == "ansi-z80.1-2015"


def test_a_practice_cannot_set_a_looser_limit() -> None:
    with pytest.raises(ValidationError, match="Δ is not stricter than the trade"):
        tighten(
            actor=person("ines"), rule="iso-21987-2017", limit="horizontal_to_2_weak_pd", value=1.5, reason="Why not"
        )
    PracticeRule.objects.create(
        rule="iso-21987-2017",
        kind="tighten",
        limit="add_to_4_d",
        value=0.9,
        reason="By hand",
        decided_on="2026-11-30",
        decided_by=person("ines"),
    )
    assert tolerances_in_force().named("add_to_4_d").value == 0.12, "A looser figure in the table counts for nothing."


# The second reader


def test_a_second_reader_is_another_person_and_the_worse_of_both_readings_counts() -> None:
    Practice.objects.update(second_reader_for=["every"])
    order = sent()
    first = read(order)
    waiting = standing(order)
    assert waiting.waits_for_second_reader
    assert waiting.second_reader_because == ("Here two people read every pair.",)
    with pytest.raises(ValidationError, match="read this pair already; the second reader is somebody else"):
        read(order, second_of=first)
    worse = readings(left={"sphere": -1.5, "pd_mm": 31.5})
    second = read(Order.objects.get(pk=order.pk), "ines", second_of=first, readings=worse)
    now = standing(order)
    assert (now.reading, now.second, now.result) == (first, second, "return")
    assert not now.waits_for_second_reader


def test_a_second_reading_belongs_to_a_first_one_of_the_same_order() -> None:
    Practice.objects.update(second_reader_for=["every"])
    first, other = read(sent()), sent(patient=shop.patient("P-90002"))
    with pytest.raises(ValidationError, match="no first reading of this order"):
        read(other, "ines", second_of=first)
    assert FinishedReading.objects.count() == 1
