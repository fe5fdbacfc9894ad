"""May this order be made for this person on this prescription? Dates, signature, and protected people."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from math import inf
from typing import Any

from dispensing.trade.facts import data_file
from dispensing.trade.protection import is_british
from orders.documents.lens_order import Practice, PrescriptionPart
from orders.documents.order_report import Level
from orders.rules import dates, words
from orders.rules.case import Case
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("identity and law").rule

COPIED = re.compile(r"focimet|lensmet|vertomet|neutrali|copied|copy|from .*(spectacles|glasses|pair)", re.IGNORECASE)


@rule(
    id="prescription-in-date",
    number=1,
    level=("stop", "ask", "note"),
    title="The prescription is in date",
    why="Supply on an old prescription is against the law in many places, and eyes change.",
)
def prescription_in_date(case: Case) -> Iterator[Finding]:
    prescription, ordered = case.order.prescription, case.order.believed_order_day
    yield from _printed_too_late(case)
    if ordered is None:
        return
    if prescription.expires_on is not None and ordered > prescription.expires_on:
        yield _out_of_date("expired", prescription.expires_on, ordered, "prescription.expires_on", "stop")
        return
    law = _validity(case)
    if law is None or prescription.tested_on is None:
        return
    last = dates.months_later(prescription.tested_on, law["months"])
    if ordered > last:
        level: Level = law["level"]
        what = f"is older than {law['words']}; it was good"
        yield _out_of_date(what, last, ordered, "prescription.tested_on", level, _how_sure(law))


def _printed_too_late(case: Case) -> Iterator[Finding]:
    """A printed expiry beyond the term of the law does not lengthen it, unless the law leaves the term to the paper."""
    tested, printed = case.order.prescription.tested_on, case.order.prescription.expires_on
    if tested is None or printed is None:
        return
    longest = dates.years_later(tested, round(case.limit("prescription-in-date", "longest_years")))
    law = _validity(case)
    last = dates.months_later(tested, law["months"]) if law else None
    if printed > longest:
        advice = "Read it again on the paper: a year is easily mistyped."
        yield _printed(printed, longest, f"no prescription is good beyond {dates.written(longest)}", advice, "ask")
    elif law and last is not None and printed > last:
        advice = f"Do not count on the printed day: here a prescription is good for {law['words']}.{_how_sure(law)}"
        yield _printed(
            printed, last, f"by the term of the place it is good until {dates.written(last)}", advice, "note"
        )


def _how_sure(law: dict[str, Any]) -> str:
    """What to add where a term is no law that was looked up."""
    unsure = {
        "memory": " We hold this term from memory: local rules and the licensed practitioner decide.",
        "common practice": " This term is a custom and no law: local rules and the licensed practitioner decide.",
    }
    return unsure.get(law["grade"], "")


def _printed(printed: date, last: date, what: str, advice: str, level: Level) -> Finding:
    return Finding(
        f"The prescription says that it is good until {dates.written(printed)}; {what}.",
        advice,
        None,
        printed.isoformat(),
        last.isoformat(),
        None,
        ("Correct the printed expiry.", "Go by the earlier of the two days."),
        "prescription.expires_on",
        level,
    )


EXTEND = "Arrange a new test, ask the prescriber to extend it, or have an authorised person state the reason."


def _out_of_date(what: str, last: date, ordered: date, field: str, level: Level, how_sure: str = "") -> Finding:
    until = "on" if what == "expired" else "until"
    return Finding(
        f"The prescription {what} {until} {dates.written(last)}, and the order is of {dates.written(ordered)}.",
        EXTEND + how_sure,
        None,
        ordered.isoformat(),
        last.isoformat(),
        None,
        ("Arrange a new test.", "Ask the prescriber to extend it in writing."),
        field,
        level,
    )


def _validity(case: Case) -> dict[str, Any] | None:
    """The rule of the practice's state, else of its country; the one for this age if it depends on age."""
    printed = case.order.prescription.expires_on is not None
    for place in _places(case.order.practice):
        for row in data_file("prescription_validity")["rule"]:
            if place not in (row["place"], *row.get("also", ())) or (printed and row.get("without_expiry_only")):
                continue
            low, high = row.get("from_years", 0), row.get("to_years", inf)
            if (low, high) == (0, inf) or (case.age is not None and low <= case.age <= high):
                found: dict[str, Any] = row
                return found
    return None


def _places(practice: Practice) -> Iterator[str]:
    """Where the practice is, the most local place first, as in ISO 3166: ``US-NH``, ``US``.

    The state is given with the country, or separately, as in this program's own orders.
    """
    country, _, state = (practice.country or "").strip().upper().partition("-")
    state = state or str((practice.extra or {}).get("state") or "").strip().upper()
    if state:
        yield f"{country}-{state}"
    yield country


@rule(
    id="prescriber-and-signature",
    number=2,
    level=("stop", "ask"),
    title="The prescription names its prescriber and is signed",
    why="Without prescriber and signature it is not a valid written prescription.",
)
def prescriber_and_signature(case: Case) -> Iterator[Finding]:
    prescription = case.order.prescription
    if not (prescription.prescriber or "").strip():
        text, advice = "The prescription names no prescriber.", "Give the name, or get a copy that shows it."
        remedies = ("Give the prescriber's name.", "Get a copy of the prescription.")
        yield Finding(text, advice, None, None, "the prescriber's name", None, remedies, "prescription.prescriber")
    if prescription.signed is False:
        text, advice = "The prescription is not signed.", "Get a signed copy from the prescriber."
        yield Finding(text, advice, None, "not signed", "signed", None, (advice,), "prescription.signed")
    unknown = list(_not_on_the_paper(prescription))
    if unknown:
        text = f"The prescription comes from outside, and nothing says {words.listed(unknown, 'or')}."
        advice = "Look at the paper, and put it on record."
        remedies = ("Put on record what the paper says.", "Get a copy of the prescription.")
        limit = "prescriber's address and signature"
        yield Finding(text, advice, None, None, limit, None, remedies, "prescription.signed", "ask")


def _not_on_the_paper(prescription: PrescriptionPart) -> Iterator[str]:
    """Only a practice's own record says that a prescription is from outside; then silence about its paper counts."""
    paper = prescription.extra or {}
    if paper.get("from_outside") is not True:
        return
    if prescription.signed is None:
        yield "whether it is signed"
    if paper.get("address_given") is False:
        yield "where the prescriber is"


@rule(
    id="protected-patient",
    number=4,
    level=("stop", "ask", "note"),
    title="The law of the place on who may be supplied by whom",
    why="In Britain only a registered person may supply children and the sight-impaired; elsewhere other law holds.",
)
def protected_patient(case: Case) -> Iterator[Finding]:
    yield from _law_known(case)
    youngest = case.limit("protected-patient", "below_years")
    age = case.age
    is_child = age is not None and age < youngest
    if not is_child and case.order.patient.protected is not True:
        return
    country = next(reversed(tuple(_places(case.order.practice))))
    if not is_british(country):
        yield from _law_elsewhere(country, is_child, case)
        return
    if case.order.ordered_by is not None and case.order.ordered_by.is_registered:
        return
    who = f"{age} years old" if is_child else "registered as sight-impaired or otherwise protected"
    yield Finding(
        f"The patient is {who}, and the order names no registered person who takes part.",
        "Name the one who answers for order, measurement, check and collection; a reason does not take their place.",
        None,
        float(age) if is_child and age is not None else "protected",
        youngest if is_child else "a named registered person",
        "years" if is_child else None,
        ("Name the registered person who takes part, with the registration.",),
        "patient.born_on" if is_child else "patient.protected",
        liftable=False,
    )


def _law_elsewhere(country: str, is_child: bool, case: Case) -> Iterator[Finding]:
    """The British rule stops nobody elsewhere; there we ask about local rules and say that we hold no data on them."""
    who = f"{case.age} years old" if is_child else "registered as sight-impaired or otherwise protected"
    where = f"in {country}" if country else "where the practice is, for the order names no country"
    yield Finding(
        f"The patient is {who}. We hold no law on who may supply protected people {where}.",
        "Local rules and the licensed practitioner decide: confirm that they are kept.",
        None,
        float(case.age) if is_child and case.age is not None else "protected",
        case.limit("protected-patient", "below_years") if is_child else "the local rules",
        "years" if is_child else None,
        ("Confirm that the local rules are kept.",),
        "patient.born_on" if is_child else "patient.protected",
        "ask",
    )


def _law_known(case: Case) -> Iterator[Finding]:
    """If nothing is said about the law, that must not be read as the law being kept."""
    country = next(reversed(tuple(_places(case.order.practice))))
    known = {place.partition("-")[0] for row in data_file("prescription_validity")["rule"] for place in _named(row)}
    if country in known or is_british(country):
        return
    text = f"We hold no law of {country}" if country else "The order names no country, so no law was looked at"
    yield Finding(
        f"{text}: neither how long a prescription is good nor who may supply whom.",
        "Local rules and the licensed practitioner decide."
        if country
        else "Say in which country the practice is; its rules and the licensed practitioner decide.",
        None,
        country or None,
        "a country whose law we hold",
        None,
        ("Follow the local rules.",) if country else ("Give the country of the practice.",),
        "practice.country",
        "note" if country else "ask",
    )


def _named(row: dict[str, Any]) -> tuple[str, ...]:
    return (row["place"], *row.get("also", ()))


@rule(
    id="copied-prescription",
    number=6,
    level="ask",
    title="Powers copied from spectacles",
    why="Old powers may no longer suit, and a copy repeats the errors of the pair it was read from.",
)
def copied_prescription(case: Case) -> Iterator[Finding]:
    source = case.order.prescription.source or ""
    if COPIED.search(source):
        yield Finding(
            f"The powers were taken from spectacles (“{source.strip()}”), not from a written prescription.",
            "Record why, with powers and date, and advise a test.",
            None,
            source.strip(),
            "a written prescription",
            None,
            ("Record the reason and the powers read.", "Advise a test."),
            "prescription.source",
        )
