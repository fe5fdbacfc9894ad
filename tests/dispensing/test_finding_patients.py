"""Finding a patient by whatever someone remembers."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from dispensing.models import Patient, Practice
from dispensing.queries.finding import find
from dispensing.services.patients import correct_patient, register_patient
from tests.people import signed_in

pytestmark = pytest.mark.django_db


def register(family_name: str, given_names: str = "Ann", born_on: date = date(1980, 5, 6), **fields: Any) -> Patient:
    others = list(Patient.objects.values_list("reference", flat=True))
    names = {"family_name": family_name, "given_names": given_names, "born_on": born_on}
    return register_patient(actor=None, although_similar_to=others, **names, **fields)


def found(text: str) -> list[str]:
    return [patient.family_name for patient in find(text).page.rows]


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
    assert find(text).page.rows == [patient]


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
    assert found("04/02/1968") == found("040268") == []
    Practice.objects.update(country="US")
    assert found("04/02/1968") == found("040268") == ["Penhallow"]


# One household and who might be mistaken for them. Each question names whom it finds: exactly, by how else they are
# reached, and by a near name. The same table is asked of both databases.
HOUSEHOLD: list[dict[str, Any]] = [
    {"family_name": "Penhallow", "given_names": "Margery", "born_on": date(1968, 4, 2), "phone": "07700 900123"},
    {"family_name": "Penrose", "given_names": "Ada", "born_on": date(1970, 1, 1), "phone": "+44 20 7946 0000"},
    {"family_name": "Müller", "given_names": "Jürgen", "born_on": date(1925, 12, 31), "phone": "0049 30 901820"},
    {"family_name": "Smith", "given_names": "Kathryn", "born_on": date(2001, 2, 3), "email": "kate.s@example.org"},
    {
        "family_name": "Featherstone",
        "given_names": "Bo",
        "born_on": date(1988, 8, 8),
        "address": "12 Penrose Rd, Ely",
    },
    {
        "family_name": "Quill",
        "given_names": "Tom",
        "born_on": date(2019, 5, 6),
        "guardian": "Ida Ashcombe 07700 90999",
    },
]
QUESTIONS: list[tuple[str, list[str], list[str], list[str]]] = [
    # Names as they are, in part, and with a letter in five wrong: changed, missing, added, two exchanged
    ("penhallow", ["Penhallow"], [], []),
    ("penhalow", [], [], ["Penhallow"]),
    ("penhallov", [], [], ["Penhallow"]),
    ("penhalloww", [], [], ["Penhallow"]),
    ("penhallwo", [], [], ["Penhallow"]),
    ("penhalov", [], [], []),
    ("featherstane", [], [], ["Featherstone"]),
    ("fetherstane", [], [], ["Featherstone"]),
    ("fetherstom", [], [], []),
    ("margary penhalow", [], [], ["Penhallow"]),
    ("margery penhalow", [], [], ["Penhallow"]),
    ("ada penhalow", [], [], []),
    ("penhalow 2.4.1968", [], [], ["Penhallow"]),
    ("penhalow 3.4.1968", [], [], []),
    # By sound
    ("smyth", [], [], ["Smith"]),
    ("catharin", [], [], ["Smith"]),
    # Letters with and without their marks
    ("muller", ["Müller"], [], []),
    ("mueller", ["Müller"], [], []),
    ("juergen müller", ["Müller"], [], []),
    ("mueler", [], [], ["Müller"]),
    # The beginning of a word
    ("m", ["Müller", "Penhallow"], [], []),
    ("bo", ["Featherstone"], [], []),
    ("ow", [], [], []),
    # Birth dates
    ("020468", ["Penhallow"], [], []),
    ("2.4.68", ["Penhallow"], [], []),
    ("2 apr 68", ["Penhallow"], [], []),
    ("31/12/25", ["Müller"], [], []),
    ("3.2.01", ["Smith"], [], []),
    ("3.2.68", [], [], []),
    # Telephone numbers, as dialled at home and abroad
    ("07700 900123", ["Penhallow"], [], []),
    ("+44 7700 900123", ["Penhallow"], [], []),
    ("+44 (0)7700 900-123", ["Penhallow"], [], []),
    ("0044 7700 900123", ["Penhallow"], [], []),
    ("020 7946 0000", ["Penrose"], [], []),
    ("penrose 02079460000", ["Penrose"], [], []),
    ("+49 30 901820", ["Müller"], [], []),
    ("900123", ["Penhallow"], [], []),
    ("60000", ["Penrose"], [], []),
    # How else somebody is reached
    ("kate.s@example.org", [], ["Smith"], []),
    ("ashcombe", [], ["Quill"], []),
    ("ida ashcomb", [], ["Quill"], []),
    ("ashcome", [], [], ["Quill"]),
    ("07700 90999", [], ["Quill"], []),
    ("penrose", ["Penrose"], ["Featherstone"], []),
    ("12 penrose rd", [], ["Featherstone"], []),
    ("bo ely", [], ["Featherstone"], []),
    # References
    ("P-00002", ["Penrose"], [], []),
    ("00002", ["Penrose"], [], []),
    ("2", ["Penrose"], [], []),
    ("p2", ["Penrose"], [], []),
    ("7", [], [], []),
    # Signs alone
    ("%", [], [], []),
    ("_", [], [], []),
    ("'", [], [], []),
    ('"', [], [], []),
    ("*", [], [], []),
    ("pen OR smith", [], [], []),
]  # fmt: skip


def test_each_question_finds_whom_it_means_on_either_database() -> None:
    for one in HOUSEHOLD:
        register(**one)
    answers = [(text, find(text)) for text, *_ in QUESTIONS]
    people = [(text, *([one.family_name for one in some] for some in (found.page.rows, found.others, found.near)))
              for text, found in answers]  # fmt: skip
    assert people == QUESTIONS


def test_nearer_names_come_first_and_then_by_name() -> None:
    for name in ("Jansen", "Janson", "Jansona", "Hansen"):
        register(name)
    assert [one.family_name for one in find("jansonn").near] == ["Janson", "Jansona", "Jansen"]


def test_similar_names_wait_until_those_that_fit_are_all_on_the_page() -> None:
    for number in range(3):
        register("Jansen", f"Ada {number}")
    register("Janssen")
    first = find("jansen", size=2)
    assert (len(first.page.rows), first.near) == (2, ())
    assert find("jansen", size=2, after=first.page.next_key).near == ()
    assert [one.family_name for one in find("jansen", size=3).near] == ["Janssen"]


def test_no_more_than_ten_are_shown_who_are_only_reached_so() -> None:
    for number in range(11):
        register("Blyth", f"Ada {number:02}", address="Ely")
    assert [one.given_names for one in find("ely").others] == [f"Ada {number:02}" for number in range(10)]
    assert find("ely").page.rows == []


def test_a_name_that_was_corrected_is_found_by_its_new_spelling_only() -> None:
    patient = register("Penhalow", "Margery", email="old@example.org")
    bystander = register("Penrose", email="old@example.net")
    correct_patient(actor=None, patient=patient, family_name="Thackeray", email="new@example.org")
    assert find("thackeray").page.rows == [patient]
    assert find("thackary").near == [patient]
    assert not find("penhalow").anybody
    assert (find("old@example").others, find("new@example").others) == ([bystander], [patient])


def test_a_patient_who_is_gone_is_found_by_nobody() -> None:
    kept = register("Penhallow", "Bea")
    Patient.objects.create(reference="P-00009", born_on=kept.born_on, search_text=kept.search_text).delete()
    assert find("penhallow").page.rows == [kept]


def test_what_is_only_near_does_not_open_at_once() -> None:
    register("Penhallow")
    answer = signed_in("dora").post("/patients/find/", {"text": "penhalow"})
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "Nobody matches “<bdi>penhalow</bdi>” exactly." in page
    assert page.index("Similar names") < page.index("Penhallow, Ann")


def test_somebody_reached_by_the_same_word_keeps_the_only_match_from_opening() -> None:
    register("Penrose")
    register("Quill", address="Penrose Lane")
    answer = signed_in("dora").post("/patients/find/", {"text": "penrose"})
    assert answer.status_code == 200
    page = answer.content.decode()
    assert page.index("Penrose, Ann") < page.index("By guardian, e-mail or address") < page.index("Quill, Ann")


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
        page = find("same", after=after, size=2).page
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
    client.get("/patients/")  # The first look at the list is noted with more of them.
    with django_assert_max_num_queries(7):
        client.get("/patients/")
    with django_assert_max_num_queries(7):
        client.post("/patients/find/", {"text": "family"})
