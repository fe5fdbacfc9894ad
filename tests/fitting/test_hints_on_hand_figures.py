"""What a colleague would say about the figures of a fitting, case by case."""

from __future__ import annotations

from typing import Any

import pytest

from dispensing.fitting.by_hand import HandFigure, figure_from_readings
from dispensing.fitting.hand_hints import HandFitting, Hint, hints

SOUND = {
    ("pd_mm", "right"): 31.5,
    ("pd_mm", "left"): 32.0,
    ("binocular_pd_mm", "both"): 63.5,
    ("near_pd_mm", "right"): 29.7,
    ("near_pd_mm", "left"): 30.2,
    ("height_mm", "right"): 21.0,
    ("height_mm", "left"): 21.5,
    ("vertex_mm", "right"): 13.0,
    ("vertex_mm", "left"): 13.0,
    ("pantoscopic_deg", "both"): 9.0,
    ("face_form_deg", "both"): 5.0,
}


def fitting(
    changes: Any = None, *, b_mm: Any = 38.0, age_years: Any = 58.0, near_distance_mm: Any = 400.0
) -> HandFitting:
    values = SOUND | (changes or {})
    figures = {place: HandFigure(value, 0.0, 0.5, 1) for place, value in values.items() if value is not None}
    return HandFitting(figures, b_mm, age_years, near_distance_mm)


def told(place: tuple[str, str], changes: Any, **about: Any) -> list[Any]:
    return [(hint.level, hint.message) for hint in hints(fitting(changes, **about)) if hint.place == place]


def mistakes(changes: dict[tuple[str, str], float | None]) -> list[Hint]:
    """The slips that keep a fitting from being saved."""
    return [hint for hint in hints(fitting(changes)) if hint.level == "mistake"]


def test_of_a_sound_fitting_only_the_sum_is_said() -> None:
    found = hints(fitting())
    assert [(hint.level, hint.place) for hint in found] == [("note", ("binocular_pd_mm", "both"))]
    assert "Sum agrees: 31.5 + 32 = 63.5 mm" in found[0].message


def test_a_pd_of_31_typed_as_binocular_is_the_pd_of_one_eye() -> None:
    [(level, message)] = told(("binocular_pd_mm", "both"), {("binocular_pd_mm", "both"): 31.0})
    assert level == "mistake"
    assert "31 mm looks like the PD of one eye" in message


def test_a_monocular_pd_of_63_is_the_pd_of_both() -> None:
    [(level, message)] = told(("pd_mm", "right"), {("pd_mm", "right"): 63.0})
    assert level == "mistake"
    assert "looks like the PD of both eyes" in message


MISTAKES = [
    (("height_mm", "right"), 38.0, "B is 38 mm"),
    (("height_mm", "right"), 210.0, "Did you mean 21?"),
    (("near_pd_mm", "right"), 31.5, "not smaller than the PD"),
    (("near_pd_mm", "left"), 33.0, "not smaller than the PD"),
    (("vertex_mm", "left"), 130.0, "Did you mean 13?"),
    (("pantoscopic_deg", "both"), 45.0, "-15 to 30"),
    (("pd_mm", "left"), 320.0, "Did you mean 32?"),
]


@pytest.mark.parametrize(("place", "value", "words"), MISTAKES)
def test_a_slip_is_named_beside_its_field(place: tuple[str, str], value: float, words: str) -> None:
    found = mistakes({place: value})
    assert [hint.place for hint in found] == [place]
    assert words in found[0].message


UNUSUAL = [
    (("pd_mm", "right"), 39.0, "26 to 38 mm"),
    (("vertex_mm", "right"), 17.0, "12 to 15 mm"),
    (("pantoscopic_deg", "both"), 2.0, "7 to 12°"),
    (("face_form_deg", "both"), 12.0, "0 to 10°"),
]


@pytest.mark.parametrize(("place", "value", "words"), UNUSUAL)
def test_an_unusual_figure_is_asked_about_and_may_stand(place: tuple[str, str], value: float, words: str) -> None:
    assert any(level == "ask" and words in message for level, message in told(place, {place: value}))
    assert not mistakes({place: value})


def test_a_wrap_front_is_noted() -> None:
    [(level, message)] = told(("face_form_deg", "both"), {("face_form_deg", "both"): 20.0})
    assert (level, "wrap" in message) == ("note", True)


def test_a_sum_a_millimetre_off_is_asked_and_less_is_not() -> None:
    place = ("binocular_pd_mm", "both")
    assert told(place, {place: 64.4})[0][0] == "note"
    assert told(place, {place: 64.5})[0][0] == "ask"


def test_pds_of_a_child_are_judged_as_a_childs() -> None:
    small = {("pd_mm", "right"): 25.0, ("pd_mm", "left"): 25.5, ("binocular_pd_mm", "both"): 50.5}
    small |= {("near_pd_mm", "right"): 23.5, ("near_pd_mm", "left"): 24.0}
    asked_of_an_adult = {hint.place[0] for hint in hints(fitting(small)) if hint.level == "ask"}
    assert {"pd_mm", "binocular_pd_mm"} <= asked_of_an_adult
    assert not [hint for hint in hints(fitting(small, age_years=6.0)) if hint.level == "ask"]


def test_heights_more_than_a_millimetre_apart_ask_and_more_than_two_and_a_half_say_measure_again() -> None:
    place = ("height_mm", "left")
    assert told(place, {place: 22.0}) == []
    assert "sits level" in told(place, {place: 22.1})[0][1]
    assert "measure again" in told(place, {place: 23.6})[0][1]


def test_pds_more_than_two_millimetres_apart_are_asked_about() -> None:
    found = told(("pd_mm", "left"), {("pd_mm", "left"): 34.0, ("binocular_pd_mm", "both"): 65.5})
    assert [level for level, _ in found] == ["ask"]
    assert "differ by 2.5 mm" in found[0][1]


@pytest.mark.parametrize(
    ("nears", "distance", "asked"),
    [
        # The far PD is 63.5 mm: 1.905 to 5.715 mm less at 400 mm.
        ((28.8, 29.0), 400.0, None),
        (
            (28.8, 28.9),
            400.0,
            "differ by 5.8 mm for the pair; at 400 mm and a PD of 63.5 mm it is mostly 1.9 to 5.7",
        ),
        ((30.7, 31.0), 400.0, "differ by 1.8 mm"),
        ((30.6, 30.9), 400.0, None),
        ((28.8, 28.9), 300.0, None),
        # Where nobody wrote the distance, the check takes the usual one, and so does the sheet.
        ((28.8, 28.9), None, "differ by 5.8 mm for the pair; with a PD of 63.5 mm it is mostly 1.9 to 5.7 mm."),
        ((28.8, 29.0), None, None),
        # The left eye alone: 32 mm, 0.96 to 2.88 mm less.
        (
            (None, 29.1),
            400.0,
            "differ by 2.9 mm for this eye; at 400 mm and a PD of 32 mm it is mostly 1.0 to 2.9",
        ),
        ((None, 29.2), 400.0, None),
    ],
)
def test_a_near_pd_is_held_against_the_far_one_and_the_distance(
    nears: tuple[float, ...], distance: float | None, asked: str | None
) -> None:
    changes = {("near_pd_mm", eye): value for eye, value in zip(("right", "left"), nears, strict=True)}
    found = told(("near_pd_mm", "left"), changes, near_distance_mm=distance)
    if asked is None:
        assert found == []
    else:
        [(level, message)] = found
        assert level == "ask"
        assert asked in message


def test_a_height_is_not_judged_against_a_frame_whose_depth_is_not_known() -> None:
    assert told(("height_mm", "right"), {("height_mm", "right"): 45.0}, b_mm=None)[0][0] == "ask"


def test_readings_that_lie_far_apart_ask_for_another() -> None:
    figure = figure_from_readings([20.0, 21.5], "height_mm", "rule")
    found = hints(HandFitting({("height_mm", "right"): figure}, b_mm=38.0))
    assert ["Take another" in hint.message for hint in found] == [True]
