"""Finding a patient by whatever someone remembers."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from dispensing.models import Patient, Practice
from dispensing.queries.patients import find_patients, patients_page
from dispensing.services.patients import register_patient
from tests.people import signed_in

pytestmark = pytest.mark.django_db


def register(family_name: str, given_names: str = "Ann", born_on: date = date(1980, 5, 6), **fields: Any) -> Patient:
    others = list(Patient.objects.values_list("reference", flat=True))
    names = {"family_name": family_name, "given_names": given_names, "born_on": born_on}
    return register_patient(actor=None, although_similar_to=others, **names, **fields)


def found(text: str, **kwargs: Any) -> list[str]:
    return [patient.family_name for patient in find_patients(text, **kwargs)]


@pytest.mark.parametrize(
    ("family_name", "text"),
    [
        ("Ångström", "angstrom"),
        ("Ångström", "ÅNGSTRÖM"),
        ("A\u030angstro\u0308m", "ångström"),
        ("Ångström", "gstr"),
        ("O'Neill", "oneill"),
        ("O'Neill", "o’neill"),
        ("O'Neill", "neill"),
        ("Smith-Jones", "jones"),
        ("Smith-Jones", "smith jones"),
        ("Smith-Jones", "Smith-Jones"),
        ("Łukasik", "lukasik"),
        ("Straße", "strasse"),
        ("Sørensen", "sorensen"),
        ("כהן", "כהן"),
        ("Nguyễn", "nguyen"),
    ],
)
def test_a_name_is_found_whatever_its_accents_case_and_marks(family_name: str, text: str) -> None:
    patient = register(family_name)
    register("Otherwise")
    assert list(find_patients(text)) == [patient]


@pytest.mark.parametrize(
    "text",
    ["mar pen", "pen mar", "penhallow 2.4.1968", "2 apr 1968", "1968-04-02 marg", "p-00001", "P00001",
     "07700900123", "07700 900 123", "(07700) 900-123", "900123", "penhallow 07700"],
)  # fmt: skip
def test_words_are_combined_in_any_order(text: str) -> None:
    register("Penhallow", "Margery", date(1968, 4, 2), phone="07700 900123")
    register("Penrose", "Ada", date(1970, 1, 1), phone="020 7946 0000")
    assert found(text) == ["Penhallow"]


def test_a_number_with_its_country_code_is_found_by_the_number_dialled_at_home() -> None:
    register("Penhallow", phone="+44 7700 900123")
    assert found("07700 900123") == ["Penhallow"]


def test_in_the_us_the_month_is_written_first() -> None:
    register("Penhallow", born_on=date(1968, 4, 2))
    assert found("04/02/1968", month_first=True) == ["Penhallow"]
    assert found("04/02/1968") == []


@pytest.mark.parametrize("text", ["pen%low", "pen_allow", "pen*", "penhallow' OR 'a'='a"])
def test_signs_of_the_query_language_match_nothing_but_themselves(text: str) -> None:
    register("Penhallow")
    assert found(text) == (["Penhallow"] if text == "pen*" else [])


def test_pages_by_key_show_everybody_once_and_in_order() -> None:
    for number in range(7):
        register("Same", f"Name {number % 3}")
    register("Bystander")
    seen: list[Patient] = []
    after, more = "", True
    while more:
        page = patients_page(find_patients("same"), after=after, size=2)
        seen += page.rows
        after = page.next_key
        more = bool(after)
    assert len(seen) == len({patient.pk for patient in seen}) == 7
    assert [patient.given_names for patient in seen] == sorted(patient.given_names for patient in seen)


def test_a_search_by_post_leaves_nothing_in_the_address() -> None:
    register("Penhallow")
    register("Penrose")
    answer = signed_in("dora").post("/patients/find/", {"text": "pen"})
    assert answer.status_code == 200
    assert b"Penhallow" in answer.content
    assert b"Penrose" in answer.content
    assert b'href="?' not in answer.content


def test_the_only_match_opens_at_once() -> None:
    patient = register("Penhallow")
    answer = signed_in("dora").post("/patients/find/", {"text": "penhallow"})
    assert answer["Location"] == f"/patients/{patient.public_id}/"


def test_live_results_are_a_part_of_a_page() -> None:
    register("Penhallow")
    answer = signed_in("dora").post("/patients/find/", {"text": "penh"}, headers={"HX-Request": "true"})
    assert b"Penhallow" in answer.content
    assert b"<html" not in answer.content


def test_no_match_says_what_to_try() -> None:
    answer = signed_in("dora").post("/patients/find/", {"text": "nobody"})
    assert b"No patient matches" in answer.content


def test_the_list_takes_the_same_number_of_queries_for_one_patient_and_for_a_full_page(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    client = signed_in("dora")
    for number in range(30):
        register(f"Family {number:02}")
    Practice.current()
    with django_assert_max_num_queries(6):
        client.get("/patients/")
    with django_assert_max_num_queries(6):
        client.post("/patients/find/", {"text": "family"})
