"""The table of facts: every figure with its unit, words, source, date and grade, and a practice's own over it."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest

from dispensing.trade.facts import GRADES, Fact, Origin, data_file, fact_named, facts_of, figure, subjects
from dispensing.trade.limits import TRADE, Limits, PracticeLimits, stricter_only
from tests.known import there

FACTS = [fact for subject in subjects().values() for fact in subject.facts]
KEYS = {"value", "words", "stricter"}


@pytest.mark.parametrize("subject", subjects().values(), ids=lambda subject: subject.name)
def test_a_table_says_where_it_comes_from_how_sure_that_is_and_when_it_was_reviewed(subject: Any) -> None:
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", subject.name)
    assert len(subject.origin.source) > 8
    assert subject.origin.grade in GRADES
    assert date(2026, 11, 1) <= subject.origin.since
    rows = {key: row for key, row in data_file("facts")[subject.name].items() if isinstance(row, dict)}
    assert set(data_file("facts")[subject.name]) == {"source", "grade", "since", *rows}
    assert all({"value", "words"} <= set(row) <= KEYS for row in rows.values())


@pytest.mark.parametrize("fact", FACTS, ids=lambda fact: f"{fact.subject} {fact.name}")
def test_a_figure_has_words_a_unit_and_a_side_that_is_one(fact: Fact) -> None:
    assert re.fullmatch(r"[a-z]+(_[a-z0-9]+)*", fact.name)
    assert fact.label[0].isupper()
    assert not fact.label.endswith((".", ":"))
    assert fact.stricter in (None, "lower", "higher")
    # Factors, shares, counts, indices, sizes of print and multiples of a spread have no unit; all else names one.
    assert fact.unit or fact.name.rsplit("_", 1)[-1] in {
        "share",
        "readings",
        "index",
        "abbe",
        "ten",
        "acuity",
        "points",
        "number",
        "units",
        "sd",
    }


def test_no_two_figures_of_a_subject_have_the_same_words() -> None:
    # On the page "What we check" they would look like one figure with two values.
    doubled = [s.name for s in subjects().values() if len({fact.label for fact in s.facts}) < len(s.facts)]
    assert doubled == []


BY_SOMETHING = (
    "add_for_age",
    "getting_used",
    "index_for_power",
    "pd_by_age",
    "prescription_validity",
    "remark_words",
    "repeatability",
)


@pytest.mark.parametrize("name", BY_SOMETHING)
def test_rows_that_go_by_something_have_their_source_date_and_grade(name: str) -> None:
    data = data_file(name)
    rows = [data] if "source" in data else next(iter(data.values()))
    origins = [Origin.of(row) for row in rows]
    assert all(len(origin.source) > 8 and origin.grade in GRADES for origin in origins)
    assert all(date(2026, 11, 1) <= origin.since for origin in origins)


def test_a_figure_is_written_in_the_units_of_the_trade() -> None:
    written = {
        (s, n): there(fact_named(s, n)).written() for s, n in (("box-sane", "a_least_mm"), ("glass", "density_g_cm3"))
    }
    assert written == {("box-sane", "a_least_mm"): "35 mm", ("glass", "density_g_cm3"): "2.3 g/cm³"}
    assert there(fact_named("pantoscopic-band", "most_deg")).written() == "18°"
    assert there(fact_named("wrap-range", "least_d")).written() == "−4 D"
    assert there(fact_named("power-step-and-range", "fine_step_d")).written() == "0.125 D"
    assert there(fact_named("night-driving", "transmittance_percent")).written(80.5) == "80.5 %"


def test_an_unknown_figure_is_an_error_and_no_nought() -> None:
    with pytest.raises(KeyError):
        figure("decentration", "out_max_mm")
    with pytest.raises(KeyError):
        TRADE.of("moon-phase", "in_max_mm")
    assert fact_named("decentration", "out_max_mm") is None
    assert facts_of("moon-phase") == ()


def test_the_practices_figure_holds_for_its_own_limit_and_for_no_other() -> None:
    limits = Limits(PracticeLimits({"decentration": {"in_max_mm": 2.5}}))
    assert limits.of("decentration", "in_max_mm") == 2.5
    assert limits.of("pd-asymmetry", "difference_mm") == figure("pd-asymmetry", "difference_mm") == 2.0
    assert TRADE.of("decentration", "in_max_mm") == 4.0


def test_of_what_was_decided_only_what_is_stricter_counts() -> None:
    decided = [
        ("decentration", "in_max_mm", 3.0),
        ("pd-sum", "difference_mm", 1.5),
        ("pd-sum", "moon_mm", 0.5),
        ("add-range", "step_d", 0.1),
        ("near-pd", "least_percent", 4.0),
        ("heights-differ", "difference_mm", None),
    ]
    assert stricter_only(decided) == {"decentration": {"in_max_mm": 3.0}, "near-pd": {"least_percent": 4.0}}


@pytest.mark.parametrize(
    "stated",
    [None, "strict", 3, [], {"night-driving": 80}, {"night-driving": {"transmittance_percent": "80"}},
     {"night-driving": {"transmittance_percent": True}}, {"night-driving": {"transmittance_percent": float("inf")}},
     {"night-driving": {"transmittance_percent": 70.0}}],
)  # fmt: skip
def test_what_a_foreign_document_states_as_limits_never_loosens_the_trades(stated: Any) -> None:
    assert Limits.stated(stated) == TRADE


def test_what_our_own_document_states_as_limits_holds() -> None:
    stated = Limits.stated({"night-driving": {"transmittance_percent": 80.0}, "pd-sum": {"difference_mm": 2.0}})
    assert stated.of("night-driving", "transmittance_percent") == 80.0
    assert stated.of("pd-sum", "difference_mm") == 1.0
