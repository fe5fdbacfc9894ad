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
from django.urls import reverse

from dispensing.models import AuditEvent, Patient
from dispensing.queries.paging import every_row
from dispensing.services.audit import record
from dispensing.spreadsheets import csv_lines
from dispensing.views.taking_out import taken_out
from orders.models import Lab
from tests.builders import a_frame, a_patient
from tests.people import person, signed_in


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


def taken(name: str, *of: Any, **asked: str) -> list[list[str]]:
    """The file as a manager gets it, without its headings."""
    answer = signed_in("ines").post(reverse(name, args=of), asked)
    assert answer.status_code == 200
    return list(csv.reader(io.StringIO(answer.getvalue().decode("utf-8-sig"))))[1:]


@pytest.mark.django_db
def test_patients_are_taken_out_as_searched_and_the_search_stays_off_the_trail() -> None:
    ours = a_patient(family_name="=Ashe", phone="+44 1632 960222", search_text="ashe")
    other = a_patient(family_name="Blyth", search_text="blyth")
    assert [row[:2] for row in taken("patients-csv", text="ashe")] == [[ours.reference, "'=Ashe"]]
    assert {row[0] for row in taken("patients-csv")} == {ours.reference, other.reference}
    first, second = AuditEvent.objects.filter(verb="list.take-out").order_by("pk")
    assert (first.changes, second.changes) == ({"list": "patients", "search": "for a person"}, {"list": "patients"})


@pytest.mark.django_db
def test_frames_are_taken_out_as_narrowed() -> None:
    a_frame(model="Alder", mount="full_rim")
    a_frame(model="Birch", mount="drilled")
    a_frame(model="Cedar", withdrawn=True)
    assert [row[0] for row in taken("frames-csv")] == ["Alder", "Birch"]
    assert [row[0] for row in taken("frames-csv", mount="drilled")] == ["Birch"]
    assert [(row[0], row[5], row[9]) for row in taken("frames-csv", text="cedar", withdrawn="on")] == [
        ("Cedar", "52", "yes")
    ]


@pytest.mark.django_db
def test_the_trail_is_taken_out_by_patient_person_and_verb_newest_first_with_its_own_taking_out() -> None:
    ours, other = a_patient(), a_patient()
    for whose in (ours, other):
        record(
            actor=person("ravi"), verb="patient.correct", target=whose, patient=whose, changes={"phone": ["1", "=2"]}
        )
    record(actor=person("dora"), verb="patient.register", target=ours, patient=ours)
    rows = taken("audit-of-patient-csv", ours.public_id)
    assert [row[2] for row in rows if row[2] != "Looked at a patient"] == [
        "Took a list out as a file",
        "Registered a patient",
        "Corrected a patient's details",
    ]
    assert {row[3] for row in rows} == {ours.reference}
    assert rows[-1][6] == "phone: 1 → =2"
    assert [(row[1], row[3]) for row in taken("audit-csv", verb="patient.correct", person="ravi")] == [
        ("Ravi Castellan", other.reference),
        ("Ravi Castellan", ours.reference),
    ]


@pytest.mark.django_db
def test_staff_and_labs_are_taken_out_too_and_the_button_is_there_for_those_who_may() -> None:
    Lab.objects.create(name="Far Lab", account="-4711", phone="01632 960700")
    person("ravi")
    assert ("ravi", "D-10442") in {(row[0], row[3]) for row in taken("staff-csv")}
    assert taken("lab-list-csv") == [["Far Lab", "-4711", "01632 960700", "", "By e-mail", "7", "", "yes"]]
    for page, file in (("patient-list", "patients-csv"), ("frame-list", "frames-csv"), ("desk-day", "desk-day-csv")):
        for who, there in (("ines", True), ("ravi", False), ("dora", False)):
            assert (reverse(file) in signed_in(who).get(reverse(page)).content.decode()) is there, (page, who)
