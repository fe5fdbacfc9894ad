"""Numbers come from a row of their own, and lists are answered by an index however much lies behind them."""

from __future__ import annotations

import json
import re
from base64 import urlsafe_b64encode
from datetime import date
from typing import Any

import pytest
from django.db import connection, transaction
from django.db.models import QuerySet
from django.utils import timezone

from dispensing.models import AuditEvent, Frame, Patient, SerialNumber
from dispensing.queries.paging import _beyond, page_of
from dispensing.services.numbers import next_number
from orders.delivery_states import UNSETTLED
from orders.desk_queries import uncollected
from orders.models import Delivery, Order
from orders.queries import late_before
from orders.sending.outbox import due_by
from tests.builders import a_patient

pytestmark = pytest.mark.django_db


def number() -> str:
    with transaction.atomic():
        return next_number(Patient, "reference", "P")


def test_a_series_goes_on_after_the_numbers_that_were_there_before_it_had_a_row() -> None:
    patient = a_patient()
    Patient.objects.filter(pk=patient.pk).update(reference="P-99999")
    SerialNumber.objects.all().delete()
    assert [number(), number()] == ["P-100000", "P-100001"]


@pytest.mark.parametrize("by_hand", ["P-1a2b", "P-", "P-12-3", "P-99999999999"])
def test_what_was_given_by_hand_and_is_no_number_of_the_series_begins_none(by_hand: str) -> None:
    Patient.objects.filter(pk=a_patient().pk).update(reference=by_hand)
    Patient.objects.filter(pk=a_patient().pk).update(reference="P-00041")
    SerialNumber.objects.all().delete()
    assert number() == "P-00042"


def test_a_number_that_was_not_used_after_all_is_given_to_the_next() -> None:
    first = number()
    with transaction.atomic():
        next_number(Patient, "reference", "P")
        transaction.set_rollback(True)
    assert [first, number()] == ["P-00001", "P-00002"]


def test_a_number_given_by_hand_is_passed_over() -> None:
    Patient.objects.filter(pk=a_patient().pk).update(reference="P-00003")
    SerialNumber.objects.update(last=2)
    assert number() == "P-00004"


def test_another_prefix_and_another_kind_of_record_count_for_themselves() -> None:
    number()
    with transaction.atomic():
        assert next_number(Patient, "reference", "Q") == "Q-00001"
        assert next_number(Order, "number", "P") == "P-00001"
    assert number() == "P-00002"


def plan(rows: QuerySet[Any]) -> str:
    """How the database would find these rows once a table is large: reading it whole is made to look dear."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            if rows.model is AuditEvent:  # With hardly a row, its key is as good as any index.
                AuditEvent.objects.bulk_create(AuditEvent(verb="patient.correct") for _ in range(2000))
                cursor.execute("ANALYZE dispensing_auditevent")
            cursor.execute("SET LOCAL enable_seqscan = off")
            cursor.execute("SET LOCAL enable_bitmapscan = off")
        return json.dumps(json.loads(rows.explain(format="json")))
    return rows.explain()


PATIENTS = ("family_name", "given_names", "pk")
# The index of the key alone is as good on SQLite, which keeps each index in order of the row.
OF_ACTOR = "(audit_of_actor|dispensing_auditevent_actor_id)"
PLANS: dict[str, tuple[Any, str]] = {
    "patients by name, deep": (lambda: _deep(Patient.objects.all(), PATIENTS), "patient_by_name"),
    "frames by model, deep": (lambda: _deep(Frame.objects.all(), ("model", "pk")), "frame_by_model"),
    "what a person did": (lambda: AuditEvent.objects.filter(actor=1).order_by("-pk")[:9], OF_ACTOR),
    "what was done": (lambda: AuditEvent.objects.filter(verb="order.send").order_by("-pk")[:9], "audit_of_verb"),
    "late orders": (lambda: Order.objects.order_by().filter(late_before(date(2026, 11, 30))), "order_by_place"),
    "uncollected for long": (lambda: uncollected(14).select_related(None).order_by(), "order_by_(stay|place)"),
    "deliveries not settled": (lambda: Delivery.objects.order_by().filter(state__in=UNSETTLED), "delivery_due"),
    "born on a day": (lambda: Patient.objects.order_by().filter(born_on="1968-04-02"), "patient_by_birth_date"),
    "what to send next": (lambda: due_by("queued", "email", timezone.now())[:8], "delivery_due_by_way"),
    "an order by its number": (lambda: Order.objects.order_by().filter(number="D-00001"), "(number|order_once)"),
}


def _deep(rows: QuerySet[Any], order: tuple[str, ...]) -> QuerySet[Any]:
    """The query of the page after some row in the middle."""
    position = ["M" for _ in order[:-1]] + [500]
    return rows.order_by(*order).filter(_beyond(rows, order, position))[:51]


@pytest.mark.parametrize("name", PLANS)
def test_the_main_lists_are_found_by_an_index(name: str) -> None:
    rows, index = PLANS[name]
    found = plan(rows())
    assert re.search(rf'(USING (COVERING )?INDEX \S*|"Index Name": "\S*){index}', found), found
    assert "TEMP B-TREE FOR ORDER BY" not in found
    assert '"Sort"' not in found


def test_the_page_after_a_row_starts_right_behind_it_where_names_are_alike() -> None:
    """Three of one name differ by their given names, and two by nothing that is sorted but the key."""
    names = [("Ashe", "Ada"), ("Ashe", "Bea"), ("Ashe", "Bea"), ("Ashe", "Cyd"), ("Blyth", "Ada")]
    for family, given in names:
        a_patient(family_name=family, given_names=given)
    seen: list[int] = []
    after = ""
    while True:
        page = page_of(Patient.objects.all(), order=PATIENTS, after=after, size=1)
        seen += [row.pk for row in page.rows]
        after = page.next_key
        if not after:
            break
    assert seen == list(Patient.objects.order_by(*PATIENTS).values_list("pk", flat=True))


def test_a_key_of_the_wrong_kind_gives_the_first_page() -> None:
    a_patient()
    key = urlsafe_b64encode(json.dumps(["M", "M", "not a number"]).encode()).decode()
    assert page_of(Patient.objects.all(), order=PATIENTS, after=key).first
