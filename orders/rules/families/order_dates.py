"""Do the dates follow one another, and are they there? Many other rules lean on them, the one about children first."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from dispensing.trade import figure
from orders.documents.lens_order import EYES, PrescriptionPart
from orders.documents.order_report import Level
from orders.rules import dates
from orders.rules.case import Case
from orders.rules.families.handling import powers_of
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("dates").rule


@rule(
    id="dates-make-sense",
    number=5,
    level=("stop", "ask"),
    title="The dates follow one another",
    why="A test in the future or before birth is a mistyped date, and other checks lean on it.",
)
def dates_make_sense(case: Case) -> Iterator[Finding]:
    order, prescription = case.order, case.order.prescription
    born, tested, ordered = order.patient.born_on, prescription.tested_on, order.ordered_on
    for first, second, what, field in (
        (born, tested, "The test lies before the patient's birth", "patient.born_on"),
        (born, ordered, "The order lies before the patient's birth", "patient.born_on"),
        (tested, ordered, "The order lies before the test", "prescription.tested_on"),
        (tested, prescription.expires_on, "The prescription expires before its test", "prescription.expires_on"),
    ):
        if first is not None and second is not None and second < first:
            said = f"{what}: {dates.written(second)} against {dates.written(first)}"
            yield _wrong(said, "Correct the date that is wrong", second, first, field)
    if born is not None and born == tested:
        field = _typed_for_the_other(born, ordered)
        said = f"Birth and test are both of {dates.written(born)}"
        yield _wrong(said, "One was typed for the other: correct it", born, born, field)
    yield from _order_and_day_wanted(case)
    yield from _age(case)


def _typed_for_the_other(day: date, ordered: date | None) -> str:
    """Which of two equal dates is wrong: a test of long before the order is the birth date typed again."""
    long_ago = ordered is not None and ordered > dates.years_later(day, 2)
    return "prescription.tested_on" if long_ago else "patient.born_on"


def _order_and_day_wanted(case: Case) -> Iterator[Finding]:
    ordered, needed = case.order.ordered_on, case.order.needed_on
    if ordered is None or needed is None or needed >= ordered:
        return
    said = f"The order is of {dates.written(ordered)} and wanted on {dates.written(needed)}, before it"
    if case.order.believed_order_day is not None:
        yield _wrong(said, "Give the day that was promised to the patient", needed, ordered, "needed_on", "ask")
        return
    meant = dates.year_meant(ordered, case.order.prescription.tested_on or needed)
    advice = f"Correct the date of the order{f': {dates.written(meant)}' if meant else ''}"
    yield _wrong(said, advice, ordered, needed, "ordered_on")


def _age(case: Case) -> Iterator[Finding]:
    born, age = case.order.patient.born_on, case.age
    most = case.limit("dates-make-sense", "oldest_years")
    if born is None or age is None or age <= most:
        return
    day = case.order.ordered_on or case.order.prescription.tested_on or case.today or born
    meant = dates.birth_meant(born, day, most)
    guess = f" {meant.year}?" if meant else ""
    yield Finding(
        f"Born on {dates.written(born)}, the patient would be {age} years old.",
        f"Read the year of birth again.{guess}",
        None,
        float(age),
        most,
        "years",
        ("Correct the birth date.", "Confirm the age."),
        "patient.born_on",
        "stop" if age > figure("ages", "oldest_years") else "ask",
    )


def _wrong(said: str, advice: str, found: date, limit: date, field: str, level: Level = "stop") -> Finding:
    remedy = "Correct the date that is wrong."
    return Finding(f"{said}.", f"{advice}.", None, found.isoformat(), limit.isoformat(), None, (remedy,), field, level)


@rule(
    id="dates-given",
    number=5,
    level="ask",
    title="Birth, test and order are dated",
    why="Without them nobody can tell a child, an old prescription or an add that does not fit the age.",
)
def dates_given(case: Case) -> Iterator[Finding]:
    order = case.order
    if order.patient.born_on is None:
        said = "The patient's birth date is missing: whether it is a child, and whether an add fits, cannot be told"
        yield _missing(said, "the birth date", "patient.born_on")
    if order.prescription.tested_on is None and any(order.prescription.eye(eye).sphere is not None for eye in EYES):
        said = "The date of the test is missing: whether the prescription still holds cannot be told"
        yield _missing(said, "the date of the test", "prescription.tested_on")
    if order.ordered_on is None:
        yield _missing("The date of the order is missing", "the date of the order", "ordered_on")


def _missing(said: str, what: str, field: str) -> Finding:
    remedy = f"Give {what}."
    return Finding(f"{said}.", remedy, None, None, what, None, (remedy,), field)


@rule(
    id="last-prescription-earlier",
    number=5,
    level="ask",
    title="The last prescription is older than this one",
    why="Where the newer of two lies under “last”, the old powers are about to be made once more.",
)
def last_prescription_earlier(case: Case) -> Iterator[Finding]:
    this, last = case.order.prescription, case.order.previous_prescription
    if last is None or this.tested_on is None or last.tested_on is None:
        return
    if last.tested_on > this.tested_on:
        said = (
            f"The last prescription is of {dates.written(last.tested_on)}, and the one ordered from is older, of "
            f"{dates.written(this.tested_on)}."
        )
        yield _exchanged(said, "Order from the newer one, or confirm why not.", last.tested_on, this.tested_on)
    elif last.tested_on == this.tested_on and _unlike(this, last):
        said = f"There are two prescriptions of one day, {dates.written(this.tested_on)}, and they differ."
        advice = "Ask the prescriber which of them holds."
        yield _exchanged(said, advice, last.tested_on, this.tested_on)


def _unlike(this: PrescriptionPart, last: PrescriptionPart) -> bool:
    return this.use == last.use and powers_of(this) != powers_of(last)


def _exchanged(said: str, advice: str, found: date, limit: date) -> Finding:
    remedies = ("Exchange the two prescriptions.", "Correct the date that is wrong.")
    field = "previous_prescription.tested_on"
    return Finding(said, advice, None, found.isoformat(), limit.isoformat(), None, remedies, field)
