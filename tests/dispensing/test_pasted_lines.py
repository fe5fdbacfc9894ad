"""A line as a prescriber wrote it, read into the fields of the grid."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import a_patient
from tests.people import Answer, signed_in

pytestmark = pytest.mark.django_db

FIELDS = ("sphere", "cylinder", "axis", "add", "prism_horizontal", "prism_horizontal_base")


def read(line: str, **others: Any) -> Answer:
    patient = a_patient()
    typed = {"line": line} | {name.replace("__", "-"): value for name, value in others.items()}
    return signed_in("dora").post(f"/patients/{patient.public_id}/prescriptions/read/", typed)


def eye(answer: Answer, name: str) -> list[str]:
    form = getattr(answer.context["entry"], name)
    return [form[field].value() or "" for field in FIELDS]


@pytest.mark.parametrize(
    ("line", "right", "left"),
    [
        (
            "R -3.25/-1.00x170 L -2.75/-0.50x10 add 2.00",
            ["-3.25", "-1.00", "170", "+2.00", "", ""],
            ["-2.75", "-0.50", "10", "+2.00", "", ""],
        ),
        (
            "OD −4,25/+1,00×80 OS plano",
            ["-4.25", "+1.00", "80", "", "", ""],
            ["0.00", "", "", "", "", ""],
        ),
        (
            "R +1.50 DS 2Δ base in\nL +1.25/-0.25x0",
            ["+1.50", "", "", "", "2.00", "in"],
            ["+1.25", "-0.25", "180", "", "", ""],
        ),
    ],
)
def test_the_usual_written_forms_fill_the_grid(line: str, right: list[str], left: list[str]) -> None:
    answer = read(line)
    assert eye(answer, "right") == right
    assert eye(answer, "left") == left


def test_an_axis_of_nought_is_read_as_180_and_said() -> None:
    assert b"Axis 0 was read as 180" in read("R -1.00/-0.50x0 L -1.00").content


@pytest.mark.parametrize("line", ["R 3.25 L -2.75", "R -325 L -2.75", "R -3.25/-1.00 L -2.75", "hello"])
def test_a_line_that_would_need_a_guess_is_refused_beside_the_box_and_kept(line: str) -> None:
    answer = read(line, right__sphere="-9.00")
    assert 'id="id_line_error"' in answer.content.decode()
    assert answer.context["line"]["line"].value() == line
    assert eye(answer, "right")[0] == "-9.00"


def test_a_line_without_an_eye_asks_whose_it_is_and_then_fills_that_eye() -> None:
    assert b"Whose line is it?" in read("-3.25/-1.00x170 add 2.00").content
    answer = read("-3.25/-1.00x170 add 2.00", eye="left")
    assert eye(answer, "left") == ["-3.25", "-1.00", "170", "+2.00", "", ""]
    assert eye(answer, "right")[0] == ""


def test_what_the_line_does_not_speak_of_stays_as_typed() -> None:
    answer = read("R -3.25 L -2.75", right__acuity="6/6", tested_on="30.10.2026")
    entry = answer.context["entry"]
    assert entry.right["acuity"].value() == "6/6"
    assert entry.facts["tested_on"].value() == "30.10.2026"


def test_an_empty_box_says_what_to_do() -> None:
    assert b"Paste or type the powers first" in read("  ").content
