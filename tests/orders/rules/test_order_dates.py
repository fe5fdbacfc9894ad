"""What is said of dates that cannot be right: which one, what was probably meant, and what then stays unsaid."""

from __future__ import annotations

from datetime import date

import pytest

from orders.documents.order_report import FindingPart
from orders.rules import check, dates
from orders.rules.examples import Example, example_catalogue
from tests.orders.rules.test_danger_words import Changes, findings


def of(changes: Changes, null: tuple[str, ...] = (), today: date | None = None) -> list[FindingPart]:
    example = Example("dates-make-sense", "trips", "words", set=changes, null=null)
    return list(check(example.order(), example_catalogue(), today=today).findings)


@pytest.mark.parametrize(("born", "meant"), [("1868-05-14", "1968"), ("1906-05-14", "1960"), ("1911-05-14", "2011")])
def test_an_impossible_year_of_birth_is_told_with_the_one_that_was_meant(born: str, meant: str) -> None:
    [found] = findings("dates-make-sense", {"patient.born_on": born})
    assert found.field == "patient.born_on"
    assert found.says.startswith("Born on 14 May ")
    assert found.advice == f"Read the year of birth again. {meant}?"


def test_an_order_of_2062_is_no_expired_prescription() -> None:
    found = of({"ordered_on": "2062-11-25"})
    [part] = [one for one in found if one.level == "stop"]
    assert part.rule == "dates-make-sense"
    assert part.message == (
        "The order is of 25 November 2062 and wanted on 11 December 2026, before it. "
        "Correct the date of the order: 25 November 2026."
    )
    assert part.field == "ordered_on"


def test_a_child_stays_a_child_in_an_order_of_2062() -> None:
    child = of({"ordered_on": "2062-11-25", "patient": {"born_on": "2017-05-14"}})
    assert "protected-patient" in [part.rule for part in child if part.level == "stop"]


def test_a_pair_wanted_in_fifty_four_weeks_is_wanted_in_two() -> None:
    [found] = findings("promise-date", {"needed_on": "2027-12-09"})
    assert found.says == "The order is wanted on 9 December 2027, 379 days after 25 November 2026."
    assert found.advice == "Give the day that was promised: 9 December 2026, or confirm it."


def test_one_birth_date_typed_twice_is_the_fault_of_the_date_that_cannot_be() -> None:
    [birth] = findings("dates-make-sense", {"patient.born_on": "2026-11-02"})
    assert birth.field == "patient.born_on"
    tested = findings("dates-make-sense", {"prescription.tested_on": "1973-05-14"})
    assert [part.field for part in tested] == ["prescription.tested_on"]


def test_an_order_without_a_date_is_of_today() -> None:
    young = {"patient": {"born_on": "2011-11-30"}}
    null = ("ordered_on", "prescription.tested_on", "needed_on", "prescription.expires_on")
    still = of(young, null, today=date(2027, 11, 29))
    grown = of(young, null, today=date(2027, 11, 30))
    assert [part.found for part in still if part.rule == "protected-patient"] == [15.0]
    assert [part for part in grown if part.rule == "protected-patient"] == []
    assert [part for part in of(young, null) if part.rule == "protected-patient"] == []


def test_each_date_that_is_missing_is_asked_for_at_its_own_field() -> None:
    missing = ("patient.born_on", "prescription.tested_on", "ordered_on")
    asked = findings("dates-given", {}, missing)
    assert [part.field for part in asked] == list(missing)


def test_two_uses_tested_on_one_day_are_no_contradiction() -> None:
    near = {"previous_prescription.tested_on": "2026-11-02", "previous_prescription.use": "near"}
    assert findings("last-prescription-earlier", near) == []


@pytest.mark.parametrize(
    ("day", "not_before", "meant"),
    [
        (date(2062, 11, 25), date(2026, 11, 2), date(2026, 11, 25)),
        (date(2027, 12, 9), date(2026, 11, 25), date(2026, 12, 9)),
        (date(2025, 12, 9), date(2026, 11, 25), date(2026, 12, 9)),
        (date(2045, 1, 1), date(2026, 11, 25), None),
        (date(2072, 2, 29), date(2026, 11, 25), date(2027, 2, 28)),
    ],
)
def test_the_year_that_was_meant(day: date, not_before: date, meant: date | None) -> None:
    assert dates.year_meant(day, not_before) == meant


@pytest.mark.parametrize(
    ("country", "tested", "level", "told"),
    [
        ("GB", "2024-11-24", "stop", ""),
        ("US-NH", "2024-11-24", "stop", ""),
        ("FR", "2022-11-02", "ask", "We hold this term from memory: local rules and the licensed practitioner decide."),
        (
            "US",
            "2023-11-24",
            "ask",
            "This term is a custom and no law: local rules and the licensed practitioner decide.",
        ),
    ],
)
def test_a_term_is_told_no_surer_than_it_is_known(country: str, tested: str, level: str, told: str) -> None:
    old = {"practice.country": country, "prescription.tested_on": tested}
    [found] = findings("prescription-in-date", old, ("prescription.expires_on",))
    assert found.level == level
    assert found.advice.removeprefix(EXTEND).strip() == told


EXTEND = "Arrange a new test, ask the prescriber to extend it, or have an authorised person state the reason."
