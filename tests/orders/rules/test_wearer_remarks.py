"""What the remarks say of the wearer: found where it is said, and not where it is denied or about something else."""

from __future__ import annotations

import pytest

from orders.rules.wearer_remarks import WearerRemarks


@pytest.mark.parametrize(
    ("remark", "unseeing"),
    [
        ("Left eye enucleated 2009, wears a prosthesis", {"left": "enucleated"}),
        ("OS is his only eye, please take care", {"right": "only eye"}),
        ("Blind in the right eye", {"right": "Blind"}),
        ("RE artificial. LE 6/6", {"right": "artificial"}),
        ("no useful vision left", {"left": "no useful vision"}),
        ("Wears a leg prosthesis", {}),
        ("Left leg prosthesis", {}),
        ("Enlarged blind spot right", {}),
        ("Right: husband is blind", {}),
        ("Colour blind", {}),
        ("Registered blind", {}),
        ("not blind in the right eye", {}),
    ],
)
def test_an_eye_that_does_not_see(remark: str, unseeing: dict[str, str]) -> None:
    assert WearerRemarks(remark).unseeing == unseeing


@pytest.mark.parametrize(
    ("remark", "one_eyed"),
    [
        ("One-eyed", "One-eyed"),
        ("wears an ocular prosthesis", "prosthesis"),
        ("Only eye, take care", "Only eye"),
        ("Monocular PD 31 and 32", None),
        ("Wears a leg prosthesis", None),
        ("Artificial left hip", None),
        ("Two good eyes", None),
    ],
)
def test_one_eye_alone_whichever_it_is(remark: str, one_eyed: str | None) -> None:
    assert WearerRemarks(remark).one_eyed == one_eyed


def test_a_lazy_eye_is_no_blind_one() -> None:
    said = WearerRemarks("Right eye amblyopic since childhood; left is a lazy eye")
    assert said.lazy == {"right": "amblyopic", "left": "lazy eye"}
    assert said.unseeing == {}


@pytest.mark.parametrize(
    ("remark", "falls"),
    [
        ("Fell twice this year", "Fell"),
        ("Had a fall in May", "a fall"),
        ("Dizzy since tablets were changed", "Dizzy"),
        ("Parkinson's disease", "Parkinson"),
        ("Stroke last year", "Stroke"),
        ("Uses a walking frame", "walking frame"),
        ("No falls", None),
        ("has never fallen", None),
        ("hasn't fallen, but is unsteady", "unsteady"),
        ("The old pair fell and broke", None),
        ("acuity has fallen", None),
        ("falls asleep reading", None),
        ("Frame falls down", None),
        ("Mother fell ill", None),
        ("Mother has fallen", None),
        ("Wife says he fell", "fell"),
        ("balance lens left", None),
        ("Likes walking and reading", None),
    ],
)
def test_falls_and_what_makes_them_likely(remark: str, falls: str | None) -> None:
    assert WearerRemarks(remark).falls == falls


@pytest.mark.parametrize(
    ("remark", "drives", "for_hire", "by_night"),
    [
        ("Taxi driver, nights", "driver", "Taxi driver", "nights"),
        ("Drives a bus", "Drives", "Drives a bus", None),
        ("For driving at night", "driving", None, "night"),
        ("Motorcyclist", "Motorcyclist", None, None),
        ("Does not drive any more", None, None, None),
        ("Gave up driving at night", None, None, None),
        ("Works nights", None, None, None),
        ("On the driving range", None, None, None),
        ("screwdriver", None, None, None),
        ("His wife drives him", None, None, None),
    ],
)
def test_driving(remark: str, drives: str | None, for_hire: str | None, by_night: str | None) -> None:
    said = WearerRemarks(remark)
    assert (said.drives, said.drives_for_hire, said.drives_by_night) == (drives, for_hire, by_night)


@pytest.mark.parametrize(
    ("remark", "flies", "visor"),
    [
        ("Airline pilot, for the cockpit", "pilot", None),
        ("Pilot shape, please", None, None),
        ("Under a tinted visor", None, "tinted visor"),
        ("Under a clear visor", None, None),
        ("not under a dark visor", None, None),
    ],
)
def test_flying_and_visors(remark: str, flies: str | None, visor: str | None) -> None:
    said = WearerRemarks(remark)
    assert (said.flies, said.dark_visor) == (flies, visor)


def test_a_full_stop_within_a_figure_does_not_end_a_sentence() -> None:
    assert WearerRemarks("Left +1.50, prosthesis").unseeing == {"left": "prosthesis"}
