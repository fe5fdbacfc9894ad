"""Reading and writing prescriptions: every usual form, and nothing guessed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispensing.optics.notation import (
    NotationError,
    ParsedEyeLine,
    WrittenPrism,
    exact_eighth,
    format_amount,
    format_axis,
    format_power,
    format_prescription_line,
    parse_add,
    parse_axis,
    parse_power,
    parse_prescription,
    parse_prescription_line,
)
from tests.known import there

READ = ParsedEyeLine


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("-3.25/-1.00x170 add 2.00", READ(-3.25, -1.0, 170, 2.0)),
        ("−3,25 / −1,00 × 170", READ(-3.25, -1.0, 170)),
        ("–3.25 –1.00 x 170", READ(-3.25, -1.0, 170)),
        ("-3.25-1.00x170", READ(-3.25, -1.0, 170)),
        ("−3·25/−1·00×170°", READ(-3.25, -1.0, 170)),
        ("+2.00 DS", READ(2.0)),
        ("+2.00 sph", READ(2.0)),
        ("-3", READ(-3.0)),
        ("pl/-0.50x180", READ(0.0, -0.5, 180)),
        ("Plano", READ(0.0)),
        ("∞ / +0,75 @ 5", READ(0.0, 0.75, 5)),
        ("0.00/-0.50x090", READ(0.0, -0.5, 90)),
        ("+1.00/+0.75@5", READ(1.0, 0.75, 5)),
        ("+1.00 -0.50 ax 85", READ(1.0, -0.5, 85)),
        ("-1.00/-0.50*90", READ(-1.0, -0.5, 90)),
        ("-1.00/-0.50/90", READ(-1.0, -0.5, 90)),
        ("-1.00 (-0.50 x 90)", READ(-1.0, -0.5, 90)),
        ("-3.25 -1.00 170", READ(-3.25, -1.0, 170)),
        ("Sph: -3.25 Cyl: -1.00 Axis: 170 Add: +2.00", READ(-3.25, -1.0, 170, 2.0)),
        ("-3.25/0.00", READ(-3.25)),
        ("-3.25/0.00x90", READ(-3.25)),
        ("-3.25 DS 2Δ base in", READ(-3.25, prisms=(WrittenPrism(2.0, "in"),))),
        ("-3.25/-1.00x170 1.5 BU", READ(-3.25, -1.0, 170, prisms=(WrittenPrism(1.5, "up"),))),
        (
            "pl 1,5Δ up & 2^ BO add 1.75",
            READ(0.0, add=1.75, prisms=(WrittenPrism(1.5, "up"), WrittenPrism(2.0, "out"))),
        ),
        ("+1.00 add 2.25, 0.5 BD", READ(1.0, add=2.25, prisms=(WrittenPrism(0.5, "down"),))),
    ],
)
def test_the_usual_ways_of_writing_one_eye_are_read(text: str, expected: ParsedEyeLine) -> None:
    assert parse_prescription_line(text) == expected


def test_axis_0_is_read_as_180_and_said_so() -> None:
    line = parse_prescription_line("-3.25/-1.00x0")
    assert line.axis == 180
    assert line.notes == ("Axis 0 was read as 180.",)
    assert parse_axis("0") == 180


@pytest.mark.parametrize(
    ("text", "quantity", "missing"),
    [
        ("3.25", "sphere", "sign"),
        ("-3.25/1.00x170", "cylinder", "sign"),
        ("- 3.25", "sphere", "sign"),
        ("-325", "sphere", "decimal point"),
        ("250", "sphere", "decimal point"),
        ("-25", "sphere", "decimal point"),
        ("-3.25/-100x170", "cylinder", "decimal point"),
        ("-3.25 add 200", "add", "decimal point"),
        ("-3.25 15 BI", "prism", "decimal point"),
        ("-3.25/-1.00", "axis", "axis"),
        ("-3.25/-1.00x", "axis", "axis"),
        ("-3.25 x 170", "cylinder", "cylinder"),
        ("", "sphere", "sphere"),
        ("add 2.00", "sphere", "sphere"),
        ("-3.25 add", "add", "amount"),
        ("-3.25 2Δ", "prism base", "base"),
        ("-3.25/-1.00x170 2.00", "prism base", "base"),
    ],
)
def test_what_is_missing_is_named_and_never_filled_in(text: str, quantity: str, missing: str) -> None:
    with pytest.raises(NotationError) as refused:
        parse_prescription_line(text)
    assert refused.value.quantity == quantity
    assert refused.value.missing == missing


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("-3.25/-1.00x181", "axis is 181; allowed: a whole number from 1 to 180"),
        ("-3.25/-1.00x17.5", "axis is 17.5"),
        ("-3.25/-1.00x-10", "axis is -10"),
        ("-3.2555", "one to three decimals"),
        ("-99.00", "-60.00 to"),
        ("-3.25 add -2.00", "An add is never minus"),
        ("-3.25 add 2.00 add 2.25", "one add an eye"),
        ("-3.25 -2.0 BI", "without sign"),
        ("-3.25 ? 1", "not understood"),
        ("nonsense", "sphere is nonsense"),
    ],
)
def test_what_cannot_be_is_refused_in_trade_words(text: str, words: str) -> None:
    with pytest.raises(NotationError, match=words):
        parse_prescription_line(text)


def test_a_missing_decimal_point_is_asked_for() -> None:
    with pytest.raises(NotationError, match="The decimal point is missing"):
        parse_power("-325")
    with pytest.raises(NotationError, match=r"The sign is missing: write \+ or -"):
        parse_power("2.50")


def test_single_fields_are_read_alone() -> None:
    assert (parse_power("−3,25"), parse_power("Plano"), parse_power("0")) == (-3.25, 0.0, 0.0)
    assert (parse_add("2.00"), parse_add("+2,25")) == (2.0, 2.25)
    assert parse_axis("170°") == 170
    for bad in ("", "-3.25 -1.00", "- 3.25", "minus three"):
        with pytest.raises(NotationError):
            parse_power(bad)
    with pytest.raises(NotationError, match="never minus"):
        parse_add("-2.00")
    with pytest.raises(NotationError, match="axis"):
        parse_axis("plano")


SHARED = "The add is written once and was read for both eyes."


@pytest.mark.parametrize(
    ("text", "right", "left"),
    [
        (
            "R -3.25/-1.00x170 L -2.75/-0.50x10 add 2.00",
            READ(-3.25, -1.0, 170, 2.0, notes=(SHARED,)),
            READ(-2.75, -0.5, 10, 2.0),
        ),
        ("OD: +1.00 DS\nOS: plano", READ(1.0), READ(0.0)),
        ("L -1.00 R -2.00", READ(-2.0), READ(-1.0)),
        ("RE +1.00/-0.50x90; LE +1.25", READ(1.0, -0.5, 90), READ(1.25)),
        ("Right eye -1.00 Left eye -2.00", READ(-1.0), READ(-2.0)),
        ("O.D. -1.00 O.S. -2.00", READ(-1.0), READ(-2.0)),
        ("OU +1.50 add 2.00", READ(1.5, add=2.0), READ(1.5, add=2.0)),
        ("R -1.00 add 1.00 L -1.00 add 1.25", READ(-1.0, add=1.0), READ(-1.0, add=1.25)),
        ("R -1.00 2Δ base up L pl", READ(-1.0, prisms=(WrittenPrism(2.0, "up"),)), READ(0.0)),
        ("R −3,25", READ(-3.25), None),
    ],
)
def test_a_paste_of_both_eyes_is_read(text: str, right: ParsedEyeLine | None, left: ParsedEyeLine | None) -> None:
    assert parse_prescription(text) == (right, left)


def test_two_unnamed_lines_are_right_above_left_and_said_so() -> None:
    right, left = parse_prescription("-1.00/-0.50x10\n-1.25/-0.25x170\nadd 2.25")
    assert right is not None
    assert left is not None
    assert (right.sphere, right.add, left.sphere, left.add) == (-1.0, 2.25, -1.25, 2.25)
    assert "first line was read as right" in right.notes[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("-1.00", "Say which eye"),
        ("-1.00\n-2.00\n-3.00", "Say which eye"),
        ("R - 3.25 L -1.00", "could be a minus sign or a separator"),
        ("R -1.00 R -2.00", "right eye written twice"),
        ("new pair R -1.00 L -2.00", "begins with an eye"),
        ("R 1.00 L -2.00", "sign is missing"),
    ],
)
def test_a_paste_that_could_mean_two_things_is_refused(text: str, words: str) -> None:
    with pytest.raises(NotationError, match=words):
        parse_prescription(text)


@pytest.mark.parametrize(
    ("power", "text"),
    [
        (-3.25, "-3.25"),
        (2.0, "+2.00"),
        (0.0, "0.00"),
        (-0.001, "0.00"),
        (0.125, "+0.125"),
        (-0.375, "-0.375"),
        (-3.3750000001, "-3.375"),
        (0.62, "+0.62"),
        (-3.38, "-3.38"),
        (-3.75, "-3.75"),
        (-3.246, "-3.25"),
        (1.005, "+1.01"),
    ],
)
def test_a_power_is_written_with_its_sign_and_two_decimals_and_an_eighth_whole(power: float, text: str) -> None:
    assert format_power(power) == text
    assert format_amount(power) == text.lstrip("+-")


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        (0.12, 0.125),
        (0.13, 0.125),
        (-0.37, -0.375),
        (-3.38, -3.375),
        (2.62, 2.625),
        (-3.87, -3.875),
        (-3.125, -3.125),
        (0.25, 0.25),
        (0.24, 0.24),
        (0.245, 0.245),
        (0.255, 0.255),
        (0.1, 0.1),
        (0.11, 0.11),
        (0.0, 0.0),
    ],
)
def test_an_eighth_written_with_two_decimals_is_the_eighth_it_stands_for(written: float, meant: float) -> None:
    assert exact_eighth(written) == pytest.approx(meant, abs=1e-12)


def test_plano_true_minus_and_axes_are_written_as_asked() -> None:
    assert format_power(0.0, plano="Plano") == "Plano"
    assert format_power(-1.0, minus="−") == "−1.00"
    assert [format_axis(axis) for axis in (0.0, 180.0, 5.0, 179.6)] == ["180", "180", "5", "180"]
    assert format_prescription_line(-3.25, -1.0, 170, 2.0) == "-3.25 / -1.00 x 170 add +2.00"


quarters = st.integers(-80, 80).map(lambda n: n / 4)


@given(quarters, quarters, st.integers(1, 180), st.none() | st.integers(2, 14).map(lambda n: n / 4))
def test_what_is_written_is_read_back(sphere: float, cylinder: float, axis: int, add: float | None) -> None:
    for minus in ("-", "−"):
        text = format_prescription_line(sphere, cylinder, axis, add, minus=minus)
        read = parse_prescription_line(text.replace(".", ",") if minus == "−" else text)
        assert read == ParsedEyeLine(sphere, cylinder, axis if cylinder else None, add)


PIECES = [
    "R",
    " L ",
    "OD",
    "add",
    "pl",
    "x",
    "@",
    "/",
    "-",
    "−",
    "+",
    "3",
    ".",
    ",",
    "25",
    "170",
    "Δ",
    " base ",
    "up",
    "BI",
    "\n",
    " ",
    "²",
    "٣",
]


@given(st.text(max_size=40) | st.lists(st.sampled_from(PIECES), max_size=14).map("".join))
def test_any_text_is_either_read_whole_or_refused_with_the_one_error(text: str) -> None:
    try:
        right, left = parse_prescription(text)
    except NotationError:
        return
    for line in (right, left):
        if line is not None:
            assert abs(line.sphere) <= 60.0
            assert line.axis is None or 1 <= line.axis <= 180
            assert (line.axis is None) == (line.cylinder == 0.0)


@pytest.mark.parametrize("written", ["- 3.25", "+ 3.25"])
def test_a_sign_apart_from_its_number_in_one_field_says_how_to_write_it(written: str) -> None:
    with pytest.raises(NotationError, match="Write the sign directly before its number"):
        parse_power(written)


@pytest.mark.parametrize("written", ["3.25 -", "- 3.25 1.00", "-3.25 -1.00", "- -3.25 2"])
def test_other_than_one_number_in_one_field_is_not_mistaken_for_a_sign_apart(written: str) -> None:
    with pytest.raises(NotationError) as refused:
        parse_power(written)
    assert "Write the sign directly" not in str(refused.value)


def test_an_add_written_for_the_right_eye_alone_leaves_the_notes_of_the_left_eye_in_place() -> None:
    right, left = parse_prescription("R -3.25 add 2.00\nL -3.25 -1.00 x 0")
    assert there(right).notes == ()
    assert there(left).add == 2.0
    assert there(left).notes[-1] == SHARED
    assert there(left).notes[:-1] == there(parse_prescription("L -3.25 -1.00 x 0")[1]).notes != ()


@pytest.mark.parametrize("written", ["0", "plano", "pl"])
def test_an_add_of_nothing_is_no_add(written: str) -> None:
    assert parse_add(written) == 0.0
