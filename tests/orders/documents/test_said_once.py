"""Right and left are said once where they are alike, and never where they differ."""

from __future__ import annotations

from typing import Any

import pytest

from orders.documents.order_report import FindingPart
from orders.documents.said_once import RIGHT_AND_LEFT, Said, for_both, said_once


def part(eye: Any, says: str, advice: str = "Order it.") -> FindingPart:
    return FindingPart(rule="r", level="ask", eye=eye, message=f"{says} {advice}", says=says, advice=advice)


@pytest.mark.parametrize(
    ("right", "left", "both"),
    [
        ("The right lens needs 72 mm.", "The left lens needs 72 mm.", "Each lens needs 72 mm."),
        ("The add of the right eye is +9.", "The add of the left eye is +9.", "The add of each eye is +9."),
        ("CR (right lens) is soft.", "CR (left lens) is soft.", "CR (both lenses) is soft."),
        ("AR (right eye) is off.", "AR (left eye) is off.", "AR (both eyes) is off."),
        ("Right vertex 2 cannot be right.", "Left vertex 2 cannot be right.", "Vertex 2 cannot be right."),
        ("Give it for right.", "Give it for left.", "Give it for right and left."),
        ("Choose the lens.", "Choose the lens.", "Choose the lens."),
        ("The right lens needs 72 mm.", "The left lens needs 73 mm.", None),
        ("The right eye sees more than the left eye.", "The left eye sees less than the right eye.", None),
        ("The right lens.", "The left lens is off.", None),
    ],
)
def test_two_texts_become_one_only_if_nothing_but_the_eye_differs(right: str, left: str, both: str | None) -> None:
    assert for_both(right, left) == both


def test_alike_findings_make_one_line_and_others_keep_theirs_with_the_advice_once() -> None:
    lines = said_once(
        [
            part("right", "The right lens is 5 mm in."),
            part("right", "The right lens is thick."),
            part("left", "The left lens is 6 mm in."),
            part("left", "The left lens is thick."),
        ]
    )
    assert [(line.about, line.says, line.advice, line.eye) for line in lines] == [
        ("", "The right lens is 5 mm in.", "", "right"),
        ("Right and left", "Each lens is thick.", "", None),
        ("", "The left lens is 6 mm in.", "Order it.", "left"),
    ]


def test_findings_of_one_eye_or_with_other_advice_are_never_joined() -> None:
    same_eye = [part("right", "The right lens is thick."), part("right", "The right lens is thick.")]
    other_advice = [part("right", "The right lens is thick.", "Thin it."), part("left", "The left lens is thick.")]
    for parts in (same_eye, other_advice):
        assert [line.about for line in said_once(parts)] == ["", ""]


def test_what_a_program_gives_as_one_text_is_said_as_it_is() -> None:
    one = FindingPart(rule="r", level="ask", eye="left", message="It is so. Do this.")
    assert [(line.says, line.advice) for line in said_once([one])] == [("It is so. Do this.", "")]


@pytest.mark.parametrize(
    ("line", "whole"),
    [
        (Said("", "The right lens is thick.", "", "right"), "The right lens is thick."),
        (Said("", "The edge is 9 mm thick.", "", "left"), "Left: The edge is 9 mm thick."),
        (Said("", "The order names no lab.", ""), "The order names no lab."),
        (Said(RIGHT_AND_LEFT, "Each lens is thick.", ""), "Each lens is thick."),
        (Said(RIGHT_AND_LEFT, "The edge is 9 mm thick.", ""), "Right and left: The edge is 9 mm thick."),
    ],
)
def test_a_whole_line_names_the_eyes_once(line: Said, whole: str) -> None:
    assert line.whole == whole
