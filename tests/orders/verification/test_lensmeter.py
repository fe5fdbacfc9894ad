"""The text of a lensmeter in the shapes that instruments print, and lines of another shape, which are set aside."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.presentation.pasted import pasted_values
from orders.verification.lensmeter import MOST_LINES, read_lensmeter

RIGHT = {"sphere": -3.12, "cylinder": -1.0, "axis": 172.0}
LEFT = {"sphere": -2.75, "cylinder": -0.62, "axis": 12.0}

SHAPES = {
    "a line a lens": "R -3.12 -1.00 x 172\nL -2.75 -0.62 x 12",
    "a line a lens without a mark for the axis": "R  -3.12  -1.00  172\nL  -2.75  -0.62   12",
    "labels below the eye": "<R>\nS - 3.12\nC - 1.00\nA  172\n\n<L>\nS - 2.75\nC - 0.62\nA   12",
    "labels on one line": "RIGHT S -3.12 C -1.00 A 172\nLEFT S -2.75 C -0.62 A 12",
    "labels with equals": "OD: SPH=-3.12; CYL=-1.00; AXS=172\nOS: SPH=-2.75; CYL=-0.62; AXS=12",
    "between commas": "R,-3.12,-1.00,172\nL,-2.75,-0.62,12",
    "under headings": "      SPH    CYL   AXS\nR   -3.12  -1.00   172\nL   -2.75  -0.62    12",
    "decimal commas": "R -3,12 -1,00 x 172\nL -2,75 -0,62 x 12",
    "with units and true minus signs": "R −3.12 D −1.00 D × 172°\nL −2.75 D −0.62 D × 12°",
    "a mark in brackets": "[R] -3.12 -1.00 @ 172\n(L) -2.75 -0.62 @ 12",
}


@pytest.mark.parametrize("text", SHAPES.values(), ids=SHAPES)
def test_both_lenses_are_read_from_every_usual_shape(text: str) -> None:
    pasted = read_lensmeter(text)
    assert (pasted.right, pasted.left, pasted.set_aside) == (RIGHT, LEFT, [])


def test_adds_prisms_and_pds_are_read_with_their_direction() -> None:
    pasted = read_lensmeter(
        "R +1.25 ADD 2.00 0.50 IN 0.25 DOWN\nL PL -0.50 x 90 ADD +2.25\nPRISM\n"
        "L OUT 1.00 UP 0.75\nPD 63.5 R 31.5 L 32.0"
    )
    assert pasted.right == {"sphere": 1.25, "add": 2.0, "prism_in": 0.5, "prism_up": -0.25, "pd_mm": 31.5}
    assert pasted.left == {
        **{"sphere": 0.0, "cylinder": -0.5, "axis": 90.0, "add": 2.25},
        **{"prism_in": -1.0, "prism_up": 0.75, "pd_mm": 32.0},
    }
    assert pasted.set_aside == []


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("2026-11-30 10:22", "“2026” is not understood."),
        ("SN 4711", "“SN” is not understood."),
        ("R 3.12 -1.00 x 172", "“3.12” has no sign: it could be plus or minus."),
        ("R S 3.12", "“3.12” has no sign: it could be plus or minus."),
        ("R -312 -1.00 x 172", "“-312” is no power: write its sign and decimals."),
        ("R -3.12 -1.00 17.2", "“17.2” stands where the axis should be."),
        ("R -3.12 -1.00 172 2.00", "“2.00” has no name: it could be an add or a prism."),
        ("-3.12 -1.00 x 172", "It does not say which eye it is about. Begin it with R or L."),
        ("PD 63.5", "Of a PD both halves are needed, right first."),
        ("Thank you", "“THANK” is not understood."),
    ],
)
def test_a_line_of_another_shape_is_set_aside_with_what_is_wrong_and_the_others_are_read(line: str, why: str) -> None:
    pasted = read_lensmeter(f"{line}\nL -2.75 -0.62 x 12")
    assert [(one.line, one.why) for one in pasted.set_aside] == [(line, why)]
    assert (pasted.right, pasted.left) == ({}, LEFT)


def test_a_lens_read_twice_keeps_the_first_reading_and_names_the_second() -> None:
    pasted = read_lensmeter("R -3.12 -1.00 x 172\nR -2.75 -0.62 x 12")
    assert pasted.right == RIGHT
    assert [one.why for one in pasted.set_aside] == [
        "The right lens has another sphere already; the first one is kept."
    ]


def test_a_very_long_text_is_read_up_to_a_limit_and_says_so() -> None:
    pasted = read_lensmeter("R -3.12 -1.00 x 172\n" * (MOST_LINES + 3))
    assert (pasted.right, [one.line for one in pasted.set_aside]) == (RIGHT, ["3 more lines"])


def test_figures_go_into_the_fields_as_hands_would_type_them() -> None:
    pasted = read_lensmeter("R -3.12 -1.00 x 172 ADD 2.00 0.50 OUT\nL +1.25 0.00 UP")
    assert pasted_values(pasted) == {
        "right-sphere": "-3.12",
        "right-cylinder": "-1.00",
        "right-axis": "172",
        "right-add": "+2.00",
        "right-prism_horizontal": "0.50",
        "right-prism_horizontal_base": "out",
        "left-sphere": "+1.25",
        "left-prism_vertical": "0.00",
        "left-prism_vertical_base": "",
    }


WORDS = ["R", "L", "S", "C", "A", "-1.00", "+2", "x", "90", "ADD", "PD", "IN", "D", "=", "<", "0.50", "UP"]


@given(st.text(max_size=300) | st.lists(st.sampled_from(WORDS)).map(" ".join))
def test_no_text_breaks_the_reading(text: str) -> None:
    pasted = read_lensmeter(text)
    assert {*pasted.right, *pasted.left} <= {
        *("sphere", "cylinder", "axis", "add", "prism_in", "prism_up", "pd_mm", "height_mm")
    }
