"""Prescriptions that end soon: whose, of which days, page by page, without powers and only with consent."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.models import AuditEvent, Patient, Prescription
from dispensing.queries.paging import page_of
from dispensing.queries.prescriptions import ENDING_ORDER, ending
from tests.orders import shop
from tests.people import signed_in

pytestmark = pytest.mark.django_db

FIRST, LAST = date(2027, 1, 1), date(2027, 1, 31)


def ends(
    reference: str, on: date | None, *, tested: str = "2025-01-10", use: str = "distance", **patient: Any
) -> Prescription:
    of = shop.patient(reference, family_name=reference)
    Patient.objects.filter(pk=of.pk).update(**{"may_be_contacted": True} | patient)
    return shop.prescription(of, expires_on=on, tested_on=date.fromisoformat(tested), use=use)


def found(way: str = "", first: date = FIRST, last: date = LAST) -> list[str]:
    return [row.patient.reference for row in ending(first, last, way).order_by(*ENDING_ORDER)]


def test_those_are_listed_that_end_on_the_days_asked_for() -> None:
    for reference, on in (("A", "2026-12-31"), ("B", "2027-01-01"), ("C", "2027-01-31"), ("D", "2027-02-01")):
        ends(reference, date.fromisoformat(on))
    ends("E", None)
    assert found() == ["B", "C"]
    assert found(first=LAST, last=LAST) == ["C"]


def test_who_has_a_newer_prescription_is_not_listed_for_the_old_one() -> None:
    ends("A", date(2027, 1, 5))
    ends("A", date(2029, 1, 5), tested="2026-06-01")
    ends("B", date(2027, 1, 6))
    ends("B", date(2027, 1, 8))  # Of the same day, taken in later.
    ends("C", date(2027, 1, 7))
    ends("C", date(2026, 1, 7), tested="2024-06-01")
    assert [(row.patient.reference, row.expires_on) for row in ending(FIRST, LAST).order_by("expires_on")] == [
        ("C", date(2027, 1, 7)),
        ("B", date(2027, 1, 8)),
    ]


NEXT = date(2029, 1, 5)


@pytest.mark.parametrize(
    ("old", "newer", "still"),
    [
        ("distance", ["near"], True),
        ("near", ["distance"], True),
        ("distance", ["distance"], False),
        ("distance", ["distance_and_near"], False),
        ("intermediate", ["distance_and_near"], False),
        ("distance_and_near", ["distance"], True),
        ("distance_and_near", ["near", "intermediate"], True),
        ("distance_and_near", ["distance", "near"], False),
        ("distance_and_near", ["distance_and_near"], False),
    ],
)
def test_a_newer_one_replaces_only_what_it_is_for(old: str, newer: list[str], still: bool) -> None:
    ends("A", date(2027, 1, 5), use=old)
    for use in newer:
        ends("A", NEXT, tested="2026-06-01", use=use)
        ends("B", NEXT, tested="2026-06-01", use=use)
    ends("B", date(2027, 1, 6), tested="2026-07-01", use=old)  # Newer than those beside it.
    assert found() == (["A", "B"] if still else ["B"])


def test_how_many_are_left_out_unasked_is_said_and_who_said_no_is_not_counted() -> None:
    ends("A", date(2027, 1, 1), may_be_contacted=None, notices_by_email=True)
    ends("B", date(2027, 1, 2), may_be_contacted=False)
    ends("C", date(2027, 1, 3))
    ends("D", date(2027, 2, 1), may_be_contacted=None)
    assert found() == ["C"]
    html = page(first="1.1.2027", last="31.1.2027").content.decode()
    assert "1 more ends in that time, of patients who were not asked whether they may be contacted." in html


def test_the_unasked_are_counted_no_further_than_a_page_can_wait_for(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in ("queries.prescriptions", "views.ending"):
        monkeypatch.setattr(f"dispensing.{module}.MOST_UNASKED", 2)
    for name, says in (("A", "1 more ends in that time"), ("B", "2 or more end in"), ("C", "2 or more end in")):
        ends(name, date(2027, 1, 1), may_be_contacted=None)
        assert says in page(first="1.1.2027", last="31.1.2027").content.decode()


def test_only_who_agreed_is_listed() -> None:
    ends("A", date(2027, 1, 1), may_be_contacted=False, notices_by_email=True)
    ends("B", date(2027, 1, 2), notices_by_email=True)
    ends("C", date(2027, 1, 3), notices_by_text=True)
    ends("D", date(2027, 1, 4))
    assert (found(), found("email"), found("text")) == (["B", "C", "D"], ["B"], ["C"])


def test_pages_by_day_leave_nobody_out_and_name_nobody_twice() -> None:
    for number in range(5):
        ends(f"P{number}", date(2027, 1, 1 + number // 2))
    seen, key = [], ""
    while True:
        page = page_of(ending(FIRST, LAST), order=ENDING_ORDER, after=key, size=2)
        seen += [row.patient.reference for row in page.rows]
        key = page.next_key
        if not key:
            break
    assert seen == ["P0", "P1", "P2", "P3", "P4"]


def page(username: str = "dora", **asked: str) -> Any:
    return signed_in(username).get(reverse("prescriptions-ending"), asked)


def test_the_page_opens_with_the_next_weeks_and_says_no_powers() -> None:
    today = timezone.localdate()
    ends("A", today, phone="01632 960111")
    ends("B", today + timedelta(weeks=6))
    ends("C", today + timedelta(weeks=6, days=1))
    html = page().content.decode()
    assert [name in html for name in (">A, ", ">B, ", ">C, ")] == [True, True, False]
    assert "01632 960111" in html
    assert "2.25" not in html


def test_managers_take_the_list_out_and_the_trail_says_so() -> None:
    ends("A", FIRST, phone="=1+1", address="1 Quay\nHarbour")
    asked = {"first": "1.1.2027", "last": "31.1.2027", "as": "csv"}
    rows = list(csv.reader(io.StringIO(page("ines", **asked).getvalue().decode("utf-8-sig"))))
    assert rows[1] == ["2027-01-01", "Distance", "A", "Åsa", "A", "", "'=1+1", "", "1 Quay Harbour"]
    assert AuditEvent.objects.get(verb="list.take-out").changes["list"] == "prescriptions-ending"
    assert page("dora", **asked).status_code == 403
    assert "as=csv" not in page("dora", first="1.1.2027", last="31.1.2027").content.decode()


@pytest.mark.either_database
@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"first": "31.1.2027", "last": "1.1.2027"}, "The period ends before it begins."),
        ({"first": "soon"}, "This is not a date."),
        ({"first": ""}, "Write the first day."),
        ({"way": "pigeon"}, "There is no way “pigeon” to tell patients."),
        ({"first": "1.1.2027", "last": "1.1.2027"}, "No such prescription ends from 1 Jan 2027 to 1 Jan 2027."),
        ({"after": "bm9uc2Vuc2U"}, "The address of that page does not hold any more; this is the first."),
    ],
)
def test_what_cannot_be_asked_is_said(asked: dict[str, str], says: str) -> None:
    assert says in page(**asked).content.decode()
