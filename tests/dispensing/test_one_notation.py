"""Acuities shown the way the practice's charts have them: 6 m, 20 feet or decimal, near print in points or metres."""

from __future__ import annotations

import pytest

from dispensing.prescribing.acuity import read
from dispensing.prescribing.eye import EyeFigures
from dispensing.prescribing.one_notation import in_one_notation, line
from dispensing.presentation.prescriptions import shown_acuities
from dispensing.trade.facts import data_file


@pytest.mark.parametrize(
    ("written", "britain", "america", "germany"),
    [
        ("6/6", "6/6", "20/20", "1.0"),
        ("6/9-2", "6/9-2", "20/30-2", "0.67-2"),
        ("20/32", "6/9.5", "20/32", "0.63"),
        ("0.3 logMAR", "6/12", "20/40", "0.5"),
        ("-0.1 logMAR", "6/4.8", "20/16", "1.25"),
        ("0.8 decimal", "6/7.5", "20/25", "0.8"),
        ("6/18", "6/18", "20/60", "0.33"),
        ("6/6 N5", "6/6 N5", "20/20 0.63M", "1.0 0.63M"),
        ("20/20 0.8M", "6/6 N6", "20/20 0.8M", "1.0 0.8M"),
        ("near 1.0M at 40 cm", "N8 at 40 cm", "1.0M at 40 cm", "1.0M at 40 cm"),
        ("unaided 6/60, 6/6", "6/6", "20/20", "1.0"),
    ],
)
def test_an_acuity_is_shown_as_the_charts_of_the_country_have_it(
    written: str, britain: str, america: str, germany: str
) -> None:
    for country, shown in (("GB", britain), ("US", america), ("DE", germany)):
        expected = shown if shown == written else f"{shown} (written {written})"
        assert in_one_notation(written, None, country) == expected


@pytest.mark.parametrize("written", ["", "CF at 1 m N24", "J2", "6/9 J3", "1.0", "P2", "no answer", "66"])
def test_what_cannot_be_converted_without_a_guess_is_shown_as_written(written: str) -> None:
    assert in_one_notation(written, None, "GB") == written


def test_blanks_and_a_decimal_comma_are_no_other_notation() -> None:
    assert in_one_notation("6/7.5,  N5", None, "GB") == "6/7.5 N5"
    assert in_one_notation("1,25", None, "DE") == "1.25"


def test_a_bare_number_is_read_as_the_other_eye_is_written() -> None:
    right, left = EyeFigures("right", acuity="0.8 decimal"), EyeFigures("left", acuity="0.5")
    assert shown_acuities(right, left, "GB") == ("6/7.5 (written 0.8 decimal)", "6/12 (written 0.5)")


def test_every_line_of_every_chart_stands_for_the_same_acuity() -> None:
    """A line's name, read as an acuity, is the line's own: within the rounding of charts, 3 %."""
    lines = data_file("acuity_notation")["lines"]
    for decimal, metres, feet in zip(lines["decimal"], lines["metres"], lines["feet"], strict=True):
        for name in (metres, feet):
            assert read(name).decimal == pytest.approx(float(decimal), rel=0.03)
        assert (line(float(decimal), "metres"), line(float(decimal), "feet")) == (metres, feet)
        assert line(read(feet).decimal or 0.0, "decimal") == decimal
