"""Acuities in every notation that people write, what they mean, and what has to be asked."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispensing.prescribing.acuity import Acuity, in_metres, read
from dispensing.trade import figure

POOR = figure("low-acuity-eye", "poor_acuity")

SURE = [
    # Snellen in metres and feet, with letters of a line missed or read in addition.
    ("6/6", 1.0),
    ("6/9.5", 6 / 9.5),
    ("6/9,5", 6 / 9.5),
    ("6/6-2", 1.0),
    ("6/6 −2", 1.0),
    ("6/5+1", 1.2),
    ("6/9-1+2", 6 / 9),
    ("6/60.", 0.1),
    ("<6/60", 0.1),
    ("20/20", 1.0),
    ("20/200", 0.1),
    ("20/8", 2.5),
    ("20/40 -1", 0.5),
    ("20/20 OU", 1.0),
    ("R 6 / 12", 0.5),
    ("3/60", 0.05),
    ("5/7,5", 5 / 7.5),
    ("10/10", 1.0),
    ("6/6 at 6 m", 1.0),
    # Decimal, with a word that says so.
    ("1.0 decimal", 1.0),
    ("0,8 dec", 0.8),
    ("Visus 1,25", 1.25),
    ("0.8p", 0.8),
    # logMAR, with a word or a sign that says so.
    ("0.0 logMAR", 1.0),
    ("1.0 logMAR", 0.1),
    ("logMAR -0.10", 10**0.1),
    ("0.3 LogMAR", 10**-0.3),
    ("−0.1", 10**0.1),
    ("+0.10", 10**-0.1),
    # Less than any chart shows.
    ("CF", 0.0),
    ("CF at 1 m", 0.0),
    ("CF 1/2 m", 0.0),
    ("counts fingers at 2 metres", 0.0),
    ("HM 30 cm", 0.0),
    ("PL", 0.0),
    ("NPL", 0.0),
    ("no light perception", 0.0),
    ("blind", 0.0),
    ("prosthesis", 0.0),
    # Words and other acuities around the one that counts.
    ("6/9 N5", 6 / 9),
    ("VA 6/6 (N5)", 1.0),
    ("dist 6/12 near N6", 0.5),
    ("6/60 near 6/6", 0.1),
    ("6/12 0.3", 0.5),
    ("ua 6/60 cc 6/6", 1.0),
    ("6/60 ua 6/6 cc", 1.0),
    ("6/60 PH 6/9", 0.1),
    ("6/9 6/6 ph", 6 / 9),
    ("0.1/1", 0.1),
    ("-0.4 logMAR", 10**0.4),
    ("3.0 logMAR", 0.001),
    ("colour-blind, 6/6", 1.0),
    ("colour blind 6/6", 1.0),
]


@pytest.mark.parametrize(("written", "decimal"), SURE)
def test_an_acuity_is_read_as_it_is_written(written: str, decimal: float) -> None:
    acuity = read(written)
    assert acuity.decimal == pytest.approx(decimal)
    assert acuity.written == written
    assert acuity.readable
    assert not acuity.is_unclear
    assert not acuity.near_only


@pytest.mark.parametrize(
    ("written", "as_decimal", "in_logmar"),
    [("1.0", "6/6", "6/60"), ("0.0", "no sight", "6/6"), ("0,8", "6/7.5", "6/38"), (".5", "6/12", "6/19")],
)
def test_a_number_without_a_word_is_asked_about_and_not_guessed(written: str, as_decimal: str, in_logmar: str) -> None:
    acuity = read(written)
    assert acuity.decimal is None
    assert acuity.lacks_notation
    assert acuity.question() == f"as a decimal it is {as_decimal}, in logMAR {in_logmar}"
    assert acuity.how_to_write() == f"Write “{written} decimal” or “{written} logMAR”."


@pytest.mark.parametrize(
    ("written", "fellow", "decimal"),
    [
        ("0.0", "-0.1", 1.0),
        ("1.0", "0.2 logMAR", 0.1),
        ("1.0", "0.8 decimal", 1.0),
        ("1.0", "6/6", None),
        ("1.0", "0.8", None),
        ("1.0", "CF", None),
        ("6/12", "0.8 decimal", 0.5),
    ],
)
def test_the_fellow_eye_tells_the_notation_where_it_can(written: str, fellow: str, decimal: float | None) -> None:
    assert read(written, fellow).decimal == (None if decimal is None else pytest.approx(decimal))


@pytest.mark.parametrize("written", ["N5", "N 8", "n5", "J1+", "Jaeger 2", "0.4M", "1.0 M", "Near: N48 at 25 cm", "P2"])
def test_near_print_is_no_distance_acuity(written: str) -> None:
    acuity = read(written)
    assert acuity.near_only
    assert (acuity.decimal, acuity.possible, acuity.readable) == (None, (), True)


@pytest.mark.parametrize("written", ["6/60 unaided", "UA 6/60", "6/60 sc", "PH 6/60", "was 6/60"])
def test_an_acuity_without_these_glasses_says_nothing_of_the_eye_with_them(written: str) -> None:
    acuity = read(written)
    assert (acuity.decimal, acuity.possible, acuity.near_only, acuity.readable) == (None, (), False, True)


@pytest.mark.parametrize(
    "written", ["not taken", "85 letters", "6/0", "60/6", "0/6", "80 %", "12/11/2026", "20", "9.0 logMAR", "2.6 dec"]
)
def test_what_is_no_acuity_is_said_to_be_unreadable(written: str) -> None:
    acuity = read(written)
    assert not acuity.readable
    assert acuity.possible == ()


@pytest.mark.parametrize(
    ("written", "slip"),
    [("66", True), ("6/1", True), ("20", True), ("not taken", False), ("6/6", False), ("N5", False), ("", False)],
)
def test_figures_that_are_no_acuity_are_a_slip_and_words_are_not(written: str, slip: bool) -> None:
    assert read(written).is_a_slip is slip


@pytest.mark.parametrize("written", ["", "  ", None])
def test_nothing_written_is_nothing_to_say(written: str | None) -> None:
    assert read(written) == Acuity("", (), lacks_notation=False, near_only=False, readable=True)


def test_the_same_acuity_written_twice_is_one() -> None:
    assert read("6/12 20/40").possible == (("fraction", 0.5),)
    assert read("6/12 0.5 dec").notation == "fraction"


@pytest.mark.parametrize("written", ["6/60 6/6", "pl 6/6", "1.0 0.1"])
def test_two_acuities_that_disagree_are_asked_about(written: str) -> None:
    acuity = read(written)
    assert acuity.is_unclear
    assert not acuity.lacks_notation
    assert acuity.question() == "more than one acuity is written"
    assert acuity.how_to_write() == "Write the one with this prescription alone."


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("1.2 logMAR", "1.2 logMAR (6/95)"),
        ("0.8 dec", "0.8 dec (6/7.5)"),
        ("20/200", "20/200"),
        ("CF at 1 m", "CF at 1 m"),
        ("1.0", "1.0"),
        ("N5", "N5"),
    ],
)
def test_an_acuity_is_said_with_its_line_at_6_m_where_the_notation_hides_it(written: str, said: str) -> None:
    assert read(written).said == said


def test_poor_is_6_60_and_worse_and_only_what_is_sure() -> None:
    assert [read(w).is_at_most(POOR) for w in ("6/60", "1.0 logMAR", "6/36", "0.98 logMAR", "1.0", "", "N48")] == [
        True,
        True,
        False,
        False,
        False,
        False,
        False,
    ]
    assert [read(w).may_be_either_side_of(POOR) for w in ("1.0", "0.1", "0.0", "0.11", "0.99", "6/60", "6/6")] == [
        True,
        True,
        True,
        False,
        False,
        False,
        False,
    ]


def test_acuities_are_said_at_six_metres_in_the_lines_of_a_chart() -> None:
    by_logmar = [in_metres(10 ** (-tenths / 10)) for tenths in range(-3, 11)]
    assert by_logmar == [f"6/{line}" for line in (3, 3.8, 4.8, 6, 7.5, 9.5, 12, 15, 19, 24, 30, 38, 48, 60)]
    assert [in_metres(decimal) for decimal in (0.8, 1.25, 0.9, 0.78, 10**-1.3, 0.0)] == [
        "6/7.5",
        "6/4.8",
        "6/6.7",
        "6/7.7",
        "6/120",
        "no sight",
    ]


@given(st.integers(-3, 20))
def test_a_logmar_line_is_the_fraction_of_its_chart(tenths: int) -> None:
    """By definition: the tenth power of a tenth of a log unit a line, ten lines a factor of ten."""
    letter = 6.0 * 10.0 ** (tenths / 10.0)
    by_chart = read(f"6/{letter:.6f}").decimal
    assert by_chart is not None
    assert read(f"{tenths / 10.0:.1f} logMAR").decimal == pytest.approx(by_chart, rel=1e-5)
    assert -math.log10(by_chart) == pytest.approx(tenths / 10.0, abs=1e-5)


def test_an_endless_figure_is_no_acuity() -> None:
    assert not read(f"{'9' * 400}/{'9' * 400}").readable


@given(st.text(alphabet="06129./,+-−pPHhNnJMmcClogLOGMARdec u@%\u2044\n", max_size=30), st.text(max_size=12))
def test_no_text_breaks_the_reading(written: str, fellow: str) -> None:
    acuity = read(written, fellow)
    assert all(math.isfinite(value) and value >= 0.0 for _, value in acuity.possible)
    assert acuity.question()


@pytest.mark.parametrize(
    ("written", "print_read"),
    [
        ("6/9 N24", ("N", 24.0)),
        ("20/25 J10", ("J", 10.0)),
        ("6/6 1.6M", ("M", 1.6)),
        ("6/6, N5 at 40 cm, N8 at 60 cm", ("N", 5.0)),
        ("6/6", None),
        ("CF at 1 m", None),
        ("", None),
    ],
)
def test_the_near_print_that_is_read(written: str, print_read: tuple[str, float] | None) -> None:
    assert read(written).print_read == print_read


def test_a_notation_taken_from_the_fellow_eye_says_what_else_it_could_be() -> None:
    assert read("1.2", "0.0 logMAR").doubt == "read as logMAR, like the other eye's; if it is decimal, it is 6/5"
    assert read("1.2 logMAR", "0.0 logMAR").doubt == ""
    assert read("1.2", "6/6").doubt == ""


@pytest.mark.parametrize(
    ("written", "fellow", "country", "decimal"),
    [
        ("1,0", "1,0", "DE", 1.0),
        ("0,05", None, "de-by", 0.05),
        ("1,0", "1,0", "GB", None),
        ("1,0", "1,0", None, None),
        ("0,0", "0,0", "DE", None),
        ("1,0", "0,0 logMAR", "DE", 0.1),
        ("1,0 logMAR", None, "DE", 0.1),
    ],
)
def test_a_bare_number_is_read_as_the_country_writes_it(
    written: str, fellow: str | None, country: str | None, decimal: float | None
) -> None:
    assert read(written, fellow, country).decimal == (decimal and pytest.approx(decimal))


def test_a_bare_number_read_by_the_country_says_so() -> None:
    assert read("0,1", None, "DE").doubt == "read as decimal, as is usual in DE; if it is logMAR, it is 6/7.5"
