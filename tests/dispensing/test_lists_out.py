"""Lists that leave as files: harmless in a spreadsheet, never held whole, only for those who may, and on the trail."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from itertools import count, islice
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.test import RequestFactory

from dispensing.models import AuditEvent, Patient
from dispensing.queries.paging import every_row
from dispensing.spreadsheets import csv_lines
from dispensing.views.taking_out import taken_out
from tests.builders import a_patient
from tests.people import person


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1+1", "'=1+1"),
        ("+CMD", "'+CMD"),
        ("@lab", "'@lab"),
        ("-lab", "'-lab"),
        ("\tlab", "'\tlab"),
        ("\rlab", "'\rlab"),
        (" =1+1", "' =1+1"),
        ("＝1+1", "'＝1+1"),
        ("−0.06 D", "-0.06 D"),
        ("+0.06 D", "+0.06 D"),
        ("-3.375", "-3.375"),
        ("-1.5 %", "-1.5 %"),
        ("-0.06)*cmd", "'-0.06)*cmd"),
        ("-1 +A1", "'-1 +A1"),
        ("-1.2.3", "'-1.2.3"),
        ("-", "'-"),
        ("Lantern Yard", "Lantern Yard"),
        (None, ""),
        (7, "7"),
    ],
)
def test_no_cell_of_a_file_begins_a_formula(cell: Any, written: str) -> None:
    text = "".join(csv_lines([cell], [["Name, first", cell]])).removeprefix("\ufeff")
    assert list(csv.reader(io.StringIO(text, newline=""))) == [[written], ["Name, first", written]]


def test_a_file_without_end_is_written_line_by_line() -> None:
    lines = csv_lines(["Number"], ([number] for number in count(1)))
    assert list(islice(lines, 3)) == ["\ufeffNumber\r\n", "1\r\n", "2\r\n"]


@pytest.mark.django_db
@pytest.mark.parametrize("size", [1, 2, 3, 4])
def test_every_row_comes_once_and_no_more_than_a_chunk_is_fetched_ahead(
    size: int, django_assert_num_queries: Any
) -> None:
    people = [a_patient(family_name=name).pk for name in ("Ashe", "Ashe", "Blyth")]
    rows = every_row(Patient.objects.all(), order=("family_name", "given_names", "pk"), size=size)
    with django_assert_num_queries(1):
        first = next(rows)
    assert [first.pk, *(row.pk for row in rows)] == people


def _request(who: str) -> Any:
    request = RequestFactory().get("/")
    request.user = person(who)
    return request


@pytest.mark.django_db
def test_a_manager_takes_a_list_out_and_the_trail_says_which() -> None:
    ours, other = a_patient(), a_patient()
    asked = {"place": "At the lab", "lab": ""}
    answer = taken_out(_request("ines"), "orders", ["Number"], [["D-00001"]], asked=asked, patient=ours)
    assert b"".join(answer).decode() == "\ufeffNumber\r\nD-00001\r\n"
    assert answer["Content-Disposition"] == 'attachment; filename="orders.csv"'
    event = AuditEvent.objects.get(verb="list.take-out")
    assert (event.actor, event.patient, event.changes) == (
        person("ines"),
        ours,
        {"list": "orders", "place": "At the lab"},
    )
    assert not AuditEvent.objects.filter(patient=other).exists()


@pytest.mark.django_db
@pytest.mark.parametrize("who", ["dora", "ravi"])
def test_nobody_else_takes_a_list_out_and_no_row_is_fetched_for_them(who: str) -> None:
    def rows() -> Iterator[list[str]]:
        raise AssertionError("Fetched for somebody who may not have it.")
        yield []

    with pytest.raises(PermissionDenied):
        taken_out(_request(who), "orders", ["Number"], rows())
    assert not AuditEvent.objects.filter(verb="list.take-out").exists()
