"""What a technician reads first: what a revision changes in words, how old the wearer is if it matters, which paper."""

from __future__ import annotations

from typing import Any

import pytest

from orders.documents.replaced import replaced
from orders.printing.content.for_the_lab import FOR_THE_LAB
from orders.printing.content.head import code_text, paper_of
from orders.printing.content.lab_order import lab_order_content
from orders.rules import check
from orders.rules.registry import all_rules
from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, order


def told(field: str, before: Any, after: Any, **extra: Any) -> str:
    change = {"field": field, "from": before, "to": after, **({"extra": extra} if extra else {})}
    found = replaced(order(revision=2, replaces={"revision": 1, "sha256": "0" * 64, "changes": [change]}))
    assert found is not None
    (line,) = found.changes
    return line


@pytest.mark.parametrize(
    ("change", "line"),
    [
        (("prescription.right.sphere", -3.25, -3.5), "Right sphere: -3.25 → -3.50"),
        (("prescription.left.axis", 10, 5), "Left axis: 10 → 5"),
        (("lenses.left.power.sphere", -2.75, None), "Left sphere to be made: -2.75 → –"),
        (("fitting.right.pd_mm", 31.0, 31.5), "Right PD: 31.0 mm → 31.5 mm"),
        (("fitting.pantoscopic_deg", 9, None), "Pantoscopic tilt: 9.0 ° → –"),
        (("frame.front_curve_d", 4.5, 6), "Front curve of the frame: 4.50 D (1.530) → 6.00 D (1.530)"),
        (("extra.priority", None, "urgent"), "Priority: – → urgent"),
        (("frame.extra.material", "metal", "mixed"), "Frame material: metal → metal and plastic"),
        (("frame.extra.colour", "Ink", "Plum"), "Frame colour: Ink → Plum"),
        (("needed_on", "2026-12-04", None), "Day it is needed: 4 Dec 2026 → –"),
        (("lenses.right", {"design": "sv"}, None), "Right lens: to be made → not to be made"),
        (("lenses.right.blank_mm", None, 65), "Right blank: – → 65.0 mm"),
        (
            ("lenses.left.edge", None, {"polished": True, "bevel": "mini bevel"}),
            "Left edge finish: – → polished, mini bevel",
        ),
        (("lenses.left.edge.polished", True, False), "Left polished edge: yes → no"),
        (("frame.mount", "full_rim", "drilled"), "Mount: full rim → drilled (rimless)"),
        (("remarks", "", "For Mrs L."), "The remarks are different: read them on the order"),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else "",
)
def test_a_change_is_said_in_words_with_its_unit(change: tuple[str, Any, Any], line: str) -> None:
    assert told(*change) == line


def test_another_lens_is_said_by_name_and_code() -> None:
    said = told("lenses.right.design", "sv", "prog", from_name="Single vision", to_name="Progressive")
    assert said == "Right design: Single vision (sv) → Progressive (prog)"
    several = told("lenses.left.treatments", ["ar", "h"], [], from_name="Anti-reflection, Hard", to_name=None)
    assert several == "Left treatments: Anti-reflection, Hard (ar, h) → –"


def test_a_revision_warns_even_if_nothing_to_make_differs_and_a_first_order_does_not() -> None:
    found = replaced(order(revision=3, replaces={"revision": 2, "sha256": "0" * 64, "changes": []}))
    assert found is not None
    assert found.warning == "REPLACES revision 2 of D-00042, do not make both"
    assert found.changes == ("Nothing that you make is different.",)
    assert replaced(order(revision=2)) is None


@pytest.mark.parametrize(
    ("practice", "paper"),
    [
        ({"country": "GB"}, "A4"),
        ({"country": "US"}, "letter"),
        ({"country": "us"}, "letter"),
        ({"country": "US-CA"}, "letter"),
        ({"country": None}, "A4"),
        ({"country": "GB", "extra": {"paper": "letter"}}, "letter"),
        ({"country": "US", "extra": {"paper": "a4"}}, "A4"),
        ({"country": "US", "extra": {"paper": 7}}, "letter"),
    ],
)
def test_the_paper_is_what_the_practice_set_or_what_its_country_prints_on(practice: dict[str, Any], paper: str) -> None:
    assert paper_of(order(practice=practice)) == paper


@pytest.mark.parametrize(("priority", "urgent"), [("urgent", True), ("usual", False), (7, False), (None, False)])
def test_an_urgent_order_is_one_only_where_it_says_so(priority: Any, urgent: bool) -> None:
    document = order(extra={"priority": priority})
    assert lab_order_content(document, check(document, CATALOGUE_DOCUMENT), "0" * 64).urgent is urgent


def test_the_code_says_what_is_missing_too() -> None:
    assert code_text(order(number=None, revision=None, practice={})) == "Order – revision 1\nPractice –\nAccount –"


@pytest.mark.parametrize(
    ("born_on", "band"),
    [("2010-11-26", "under 16"), ("2010-11-25", "under 18"), ("2008-11-26", "under 18"), ("2008-11-25", None)],
)
def test_of_the_wearers_age_the_paper_says_only_whether_a_limit_looks_at_it(born_on: str, band: str | None) -> None:
    document = order(patient__born_on=born_on)
    facts = dict(lab_order_content(document, check(document, CATALOGUE_DOCUMENT), "0" * 64).facts)
    assert facts.get("Wearer") == band


def test_who_ordered_and_from_which_catalogue_is_said_where_it_is_known() -> None:
    document = order(
        ordered_by={"name": "Ravi Castellan", "registration": "DO-1234"},
        catalogue={"issued_on": "2026-11-01", "sha256": "0" * 64},
    )
    facts = dict(lab_order_content(document, check(document, CATALOGUE_DOCUMENT), "0" * 64).facts)
    assert (facts["Ordered by"], facts["Catalogue of"]) == ("Ravi Castellan, DO-1234", "1 Nov 2026")


def test_every_rule_that_a_lab_is_told_of_is_a_rule_that_somebody_can_answer() -> None:
    answered = {rule.id for rule in all_rules() if {"stop", "ask"} & set(rule.levels)}
    assert answered >= FOR_THE_LAB


def test_what_the_practice_asked_itself_is_not_told_to_the_lab_and_what_it_makes_is() -> None:
    entries = [
        {"rule": "prescription-in-date", "eye": None, "by": "R. Castellan", "reason": "Patient abroad"},
        {"rule": "decentration", "eye": "right", "by": "R. Castellan", "reason": "Chosen so"},
    ]
    document = order(
        lifted=entries,
        prescription__tested_on="2019-10-30",
        prescription__expires_on="2021-10-30",
        fitting__right={"pd_mm": 28.0, "height_mm": 22.0},
    )
    report = check(document, CATALOGUE_DOCUMENT)
    answered = {part.rule for part in report.findings if part.confirmed_by}
    assert answered == {"prescription-in-date", "decentration"}
    (line,) = lab_order_content(document, report, "0" * 64).lifted
    assert "Chosen so" in line
