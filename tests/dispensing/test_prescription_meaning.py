"""The pure part: comparison as power vectors, the optical cross, remarks. Each case worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from dispensing.optics.conventions import Eye
from dispensing.prescribing.comparison import compare
from dispensing.prescribing.eye import EyeFigures
from dispensing.prescribing.optical_cross import arms
from dispensing.prescribing.remarks import Typed, remarks
from tests.known import there


def eye(sphere: Any = None, cylinder: Any = None, axis: Any = None, name: Eye = "right", **others: Any) -> EyeFigures:
    return EyeFigures(name, sphere, cylinder, axis, **others)


@pytest.mark.parametrize(
    ("before", "now", "told"),
    [
        (eye(-3.0), eye(-3.5), "0.50 D more minus"),
        (eye(-3.0), eye(-2.5), "0.50 D more plus"),
        (eye(-3.0, -1.0, 10), eye(-4.0, 1.0, 100), "no change"),
        (eye(-3.0), eye(-3.0), "no change"),
        # M: -3.50 to -3.50; the cylinder grows by the sphere's loss.
        (eye(-3.25, -0.5, 90), eye(-3.0, -1.0, 90), "cylinder −0.50 → −1.00; astigmatism moved by a 0.50 D cylinder"),
        (eye(1.0, add=1.5), eye(1.0, add=2.0), "add +1.50 → +2.00"),
        (eye(1.0), eye(1.0, horizontal=(2.0, "in")), "prism none → 2.00 Δ in"),
        (eye(1.0), eye(1.0, balance=True), "now a balance lens"),
        (eye(1.0, balance=True), eye(1.0), "no balance lens any more"),
        (eye(balance=True), eye(1.0), "a balance lens before"),
        (eye(), eye(1.0), "no power to compare with"),
    ],
)
def test_a_change_is_told_in_words(before: Any, now: Any, told: str) -> None:
    assert compare(before, now, "minus").text == told


def test_a_turned_axis_leaves_twice_the_cylinder_times_the_sine() -> None:
    """Crossing −1.00 at 10 with −1.00 at 15 leaves 2 C sin 5° (obliquely crossed cylinders): 0.17 D."""
    left_over = 2.0 * math.sin(math.radians(5.0))
    assert f"{left_over:.2f}" == "0.17"
    change = compare(eye(-3.0, -1.0, 10), eye(-3.0, -1.0, 15), "minus")
    assert change.text == "axis 10 → 15; astigmatism moved by a 0.17 D cylinder"
    assert change.size_d == pytest.approx(left_over / 2.0)


def test_a_change_of_notation_alone_has_no_size() -> None:
    assert compare(eye(-3.0, -1.0, 10), eye(-4.0, 1.0, 100), "plus").size_d == pytest.approx(0.0, abs=1e-12)


def test_the_cross_shows_the_sphere_along_the_axis_and_both_powers_across() -> None:
    first, second = arms(there(eye(-3.25, -1.0, 170).power))
    assert (first.power, first.degrees) == ("−3.25", "170")
    assert (second.power, second.degrees) == ("−4.25", "80")


def test_the_cross_turns_counter_clockwise_seen_facing_the_wearer() -> None:
    """An axis of 45 runs from lower left to upper right; y of a drawing runs down."""
    arm, _ = arms(there(eye(0.0, -1.0, 45).power))
    assert float(arm.x1) < float(arm.x2)
    assert float(arm.y1) > float(arm.y2)


def found(**typed: Any) -> list[str]:
    return [remark.message for remark in remarks(Typed(**typed))]


def test_ordinary_figures_raise_no_remark() -> None:
    assert found(right=eye(-3.25, -1.0, 170, add=2.0), left=eye(-2.75, name="left", add=2.0), age=54) == []


def test_a_strong_power_asks_for_the_vertex_distance_of_its_test() -> None:
    strong: dict[str, Any] = {"right": eye(-5.0), "left": eye(-4.75, name="left")}
    (asked,) = remarks(Typed(**strong))
    assert (asked.level, asked.field, asked.key) == ("ask", "vertex_mm", "vertex:-5.0")
    assert "At −5.00 D" in asked.message
    assert "not on the paper" in asked.tick
    assert found(**strong, vertex_known=True) == []
    assert found(right=eye(-4.75), left=eye(-4.75, name="left")) == []


@pytest.mark.parametrize(
    ("age", "add", "remarked"), [(30, 1.0, True), (47, 1.25, False), (47, 3.0, True), (70, 2.5, False)]
)
def test_an_add_is_held_against_the_age(age: int, add: float, remarked: bool) -> None:
    both = {"right": eye(1.0, add=add), "left": eye(1.0, name="left", add=add)}
    assert bool(found(**both, age=age)) is remarked


def test_a_sphere_ten_times_the_other_asks_for_the_decimal_point() -> None:
    assert any("decimal point" in message for message in found(right=eye(-2.5), left=eye(-0.25, name="left")))


def test_the_same_figures_with_the_other_sign_ask() -> None:
    before = (eye(2.0), eye(2.25, name="left"))
    asked = found(right=eye(-2.0), left=eye(2.25, name="left"), before=before)
    assert any("Is the sign right now?" in message for message in asked)


@pytest.mark.parametrize(
    ("right", "left", "level", "says"),
    [
        (
            "1.0",
            "6/6",
            "ask",
            "The right acuity 1.0: as a decimal it is 6/6, in logMAR 6/60. Write “1.0 decimal” or “1.0 logMAR”.",
        ),
        (
            "6/6",
            "6/60 6/6",
            "ask",
            "The left acuity 6/60 6/6: more than one acuity is written. Write the one with this prescription alone.",
        ),
        ("66", "6/6", "ask", "The right acuity 66 is on no chart. Was a figure or the stroke left out?"),
        ("6/6", "N5", "note", "N5 (left eye) is a near acuity. Write that for distance too, if known."),
        ("good", "6/6", "note", "The right acuity good cannot be read as one, so no check will use it."),
    ],
)
def test_an_acuity_that_cannot_be_told_is_remarked_on(right: str, left: str, level: str, says: str) -> None:
    typed = Typed(right=eye(-1.0, acuity=right), left=eye(-1.25, name="left", acuity=left))
    assert [(remark.level, remark.message) for remark in remarks(typed)] == [(level, says)]


@pytest.mark.parametrize(("right", "left"), [("6/6", "20/20-2"), ("0.0", "-0.1"), ("0.8 dec", "1,0"), ("", "CF 1 m")])
def test_an_acuity_that_can_be_told_is_not_remarked_on(right: str, left: str) -> None:
    assert found(right=eye(-1.0, acuity=right), left=eye(-1.25, name="left", acuity=left)) == []


def test_equal_eyes_with_astigmatism_are_remarked_on() -> None:
    same = found(right=eye(-1.0, -0.75, 20), left=eye(-1.0, -0.75, 20, name="left"))
    assert any("copied by mistake" in message for message in same)


def test_a_bare_acuity_is_asked_about_where_the_country_does_not_tell_its_notation() -> None:
    typed = Typed(right=eye(-1.0, acuity="1,0"), left=eye(-1.25, name="left", acuity="1,0"))
    assert [remark.level for remark in remarks(typed)].count("ask") == 2
    assert [remark for remark in remarks(replace(typed, country="DE")) if remark.level == "ask"] == []
