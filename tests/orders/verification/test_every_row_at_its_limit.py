"""Every row of every standard: at its limit, just inside and just outside, as the row's own source has it.

Within the reading's own uncertainty of the limit, on either side, a reading is borderline (0.06 D, 1 degree, 0.5 mm).
"""

from __future__ import annotations

from math import inf
from typing import Any

import pytest

from dispensing.trade.facts import STANDARDS
from dispensing.trade.tolerances import FROM_MEMORY, ToleranceRow, tolerance_set, tolerance_sets
from orders.verification import verify
from tests.orders.verification.pairs import as_ordered, item, readings, said
from tests.orders.verification.trials import PUBLISHED, SOURCES, Trial, trials
from tests.published.rows import PublishedCase, by_id, published

DOUBT = {"D": 0.06, "°": 1.0, "mm": 0.5, "Δ": 0.06}
STEP = 0.001
ROWS = [row for standard in tolerance_sets() for row in standard.rows]


def _doubt(trial: Trial) -> float:
    if trial.quantity == "centre_thickness":
        return 0.1
    in_mm = ("height", "heights_pair", "pd")
    unit = "Δ" if trial.quantity.startswith("prism") else "mm" if trial.quantity in in_mm else "D"
    return DOUBT["°" if trial.quantity == "axis" else unit]


@pytest.mark.parametrize("trial", trials(), ids=str)
def test_a_reading_at_its_limit_just_inside_and_just_outside(trial: Trial) -> None:
    exact, doubt = as_ordered(trial.order), _doubt(trial)
    tries = (
        (0.0, "pass"),
        (trial.tolerance - doubt - STEP, "pass"),
        (trial.tolerance - doubt + STEP, "borderline"),
        (trial.tolerance, "borderline"),
        (trial.tolerance + doubt - STEP, "borderline"),
        (trial.tolerance + doubt + STEP, "fail"),
    )
    for error, result in (*tries, *((-error, result) for error, result in tries)):
        read = readings(exact, **{trial.field: exact["right"][trial.field] + error})
        verdict = verify(trial.order, read, trial.standard)
        found = item(verdict, trial.quantity, trial.of)
        assert (found.result, error) == (result, error)
        assert found.tolerance == pytest.approx(trial.tolerance, abs=1e-6)
        assert said(found, "limit_name") == trial.row
        assert all(one.result == "pass" for one in verdict.items if one.eye == "left"), "The other lens is as ordered."


def test_every_row_of_every_standard_is_tried() -> None:
    tried = {(trial.standard, trial.row) for trial in trials()}
    assert tried == {(row.limit.subject, row.limit.name) for row in ROWS}


@published(by_id(*SOURCES))
def test_every_source_is_named_by_a_trial(case: PublishedCase) -> None:
    assert case.id in {trial.source for trial in trials()} | {"I-PR04"}
    assert PUBLISHED[case.id].source


def test_a_row_holds_up_to_its_bound_and_not_beyond() -> None:
    for row in ROWS:
        for name, band in row.bands.items():
            others = {other: _inside(row, other) for other in row.bands if other != name}
            for kind in sorted(row.lenses) if band.most < inf else ():
                assert _row_like(row, kind, {**others, name: band.most}) is row
                assert _row_like(row, kind, {**others, name: band.most + 0.01}) is not row


def _row_like(row: ToleranceRow, kind: Any, magnitudes: dict[str, float]) -> ToleranceRow | None:
    mounted = row.mounted is not False
    standard = tolerance_set(row.limit.subject)
    return next(
        (one for one in standard.rows if one.quantity == row.quantity and one.holds(kind, mounted, magnitudes)), None
    )


def test_every_figure_has_words_of_its_own_and_may_only_be_set_lower() -> None:
    for standard in tolerance_sets():
        limits = [row.limit for row in standard.rows]
        assert len({limit.label for limit in limits}) == len(limits)
        assert all(limit.stricter == "lower" and limit.value > 0.0 and limit.unit for limit in limits)
        assert all(len(row.origin.source) > 8 for row in standard.rows)


def _inside(row: ToleranceRow, name: str) -> float:
    band = row.bands[name]
    return band.most if band.most < inf else band.over + 1.0


@pytest.mark.parametrize("standard", STANDARDS)
def test_what_is_not_confirmed_says_so_beside_the_figure_and_what_is_confirmed_does_not(standard: str) -> None:
    for trial in (trial for trial in trials() if trial.standard == standard):
        verdict = verify(trial.order, readings(as_ordered(trial.order)), standard)
        found = item(verdict, trial.quantity, trial.of)
        confirmed = said(found, "grade") == "standard"
        assert said(found, "caution") == (None if confirmed else FROM_MEMORY)
        if standard != "ansi-z80.1-2015":
            assert not confirmed, "Nobody here has read these editions."


@published(by_id("I-PR04"))
def test_the_prism_of_an_uncut_lens_is_that_of_the_wall_chart_and_a_shift(case: PublishedCase) -> None:
    iso = tolerance_set("iso-21987-2017")
    for band in case.bands["rows"]:
        prism = band["upper"] or 12.0
        row = iso.row("prism_horizontal", "single_vision", mounted=False, prism=prism)
        assert row is not None
        assert row.allowed_prism_pd(0.0) == band["tol"]


@published(by_id("A-EX1"))
def test_the_published_range_of_a_sphere(case: PublishedCase) -> None:
    row = tolerance_set("ansi-z80.1-2015").row("meridian", "single_vision", power=3.0)
    assert row is not None
    assert case.expected["pass_range"] == pytest.approx([-3.0 - row.value, -3.0 + row.value])


@published(by_id("A-AX1", "A-AX2", "A-AX4", "A-AX5"))
def test_the_published_axis_of_a_cylinder(case: PublishedCase) -> None:
    row = tolerance_set("ansi-z80.1-2015").row("axis", "progressive", cylinder=case.inputs["cyl"])
    assert row is not None
    assert row.value == case.expected["axis_tol"]


@published(by_id("A-CONT-V"))
def test_a_shift_brings_hardly_more_than_the_prism_where_the_one_takes_over(case: PublishedCase) -> None:
    row = tolerance_set("ansi-z80.1-2015").named("vertical_single_strong_mm")
    assert row.value == case.inputs["mm"]
    assert row.allowed_prism_pd(case.inputs["power"]) == pytest.approx(case.expected["prism_at_break"], abs=1e-3)


@published(by_id("A-2020"))
def test_the_edition_of_2020_has_the_figures_of_2015(case: PublishedCase) -> None:
    assert "same power / axis / add numbers as 2015" in case.expected["change"]
    new, old = tolerance_set("ansi-z80.1-2020"), tolerance_set("ansi-z80.1-2015")
    assert [(row.limit.name, row.value) for row in new.rows] == [(row.limit.name, row.value) for row in old.rows]
    assert not any(row.is_confirmed for row in new.rows)


@published(by_id("HB-067"))
def test_a_strong_sphere_by_the_standard_of_another_country_after_the_same_table(case: PublishedCase) -> None:
    row = tolerance_set("iso-21987-2017").row("meridian", "single_vision", power=abs(case.inputs["power"]))
    cylinder = tolerance_set("iso-21987-2017").row("cylinder", "single_vision", power=10.0, cylinder=0.0)
    assert row is not None
    assert cylinder is not None
    assert (row.value, cylinder.value) == (case.expected["sphere_tol"], case.expected["cyl_tol"])
