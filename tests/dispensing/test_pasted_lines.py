"""A line as a prescriber wrote it, read into the fields of the grid."""

from __future__ import annotations

from typing import Any

import pytest

from dispensing.prescribing.written_line import read_written
from tests.builders import a_patient
from tests.known import there
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


POWERS = "R -3.25/-1.00x170 L -2.75/-0.50x10 add 2.00"


@pytest.mark.parametrize(
    ("more", "name", "value"),
    [
        ("int 1.00", "right-intermediate_add", "+1.00"),
        ("int 1.00", "left-intermediate_add", "+1.00"),
        ("Inter add: 1,25", "left-intermediate_add", "+1.25"),
        ("vertex 12", "vertex_mm", "12"),
        ("BVD 12.5 mm", "vertex_mm", "12.5"),
        ("HSA 13", "vertex_mm", "13"),
        ("6/6 N5", "left-acuity", "6/6 N5"),
        ("VA 20/20-2", "left-acuity", "20/20-2"),
        ("PD 63", "notes", "On the prescription: PD 63"),
        ("PD 31.5/32 mm", "notes", "On the prescription: PD 31.5/32"),
        ("bal", "left-balance", True),
    ],
)
@pytest.mark.parametrize("first", [False, True])
def test_what_is_written_beside_the_powers_lands_in_its_own_field(
    more: str, name: str, value: str | bool, first: bool
) -> None:
    if first and name in ("left-acuity", "left-balance"):
        return  # before the powers it would be of no eye
    answer = read(f"{more} {POWERS}" if first else f"{POWERS} {more}")
    assert eye(answer, "right")[:4] == ["-3.25", "-1.00", "170", "+2.00"]
    assert eye(answer, "left")[:4] == ["-2.75", "-0.50", "10", "+2.00"]
    entry = answer.context["entry"]
    of, _, field = name.rpartition("-")
    assert (getattr(entry, of or "facts")[field].value() or "") == value
    other = entry.right["acuity"].value() or ""
    assert not other, "the other eye's acuity is nobody's to fill in"
    assert not entry.right["balance"].value()
    assert "could not place" not in answer.content.decode()


def test_each_eye_has_its_own_acuity_and_the_vertex_shows_in_its_field_at_once() -> None:
    answer = read("R -3.25 6/6 L -2.75 6/9-1 vertex 12")
    entry = answer.context["entry"]
    assert (entry.right["acuity"].value(), entry.left["acuity"].value()) == ("6/6", "6/9-1")
    assert 'hx-swap-oob="true"' in answer.content.decode()
    assert 'name="vertex_mm" value="12"' in answer.content.decode()


@pytest.mark.parametrize(
    "line",
    [
        "R -3.25 2 in 1 up L -2.75 2 BI 0.5 BD",
        "R -3.25 Prism/base 2/in 1/up L -2.75 prism / base 2.00 / in 0,50 / down",
        "OD -3.25 prism 2 base in, 1 base up OS -2.75 2Δ in 0.5Δ down",
    ],
)
def test_both_prisms_of_an_eye_land_in_their_fields(line: str) -> None:
    said = read_written(line)
    pairs = {eye: [(one.amount, one.base) for one in there(found).prisms] for eye, found in said.lines.items()}
    assert pairs == {"right": [(2.0, "in"), (1.0, "up")], "left": [(2.0, "in"), (0.5, "down")]}
    assert not said.aside


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("R -3.25 L -2.75 height 21", "I could not place “height 21”."),
        ("Rx: R -3.25 L -2.75 k 43.5 tint", "I could not place “k 43.5”, “tint”."),
        ("R -3.25 L -2.75 int 100", "I could not place “int 100”."),
        ("bal R -3.25 L -2.75", "I could not place “bal”."),
        ("hello", "I could not place “hello”."),
    ],
)
def test_what_has_no_place_is_set_aside_and_said(line: str, said: str) -> None:
    answer = read(line)
    assert said in answer.content.decode()
    assert eye(answer, "left")[0] == ("" if line == "hello" else "-2.75")


def test_one_line_for_both_eyes_and_a_balance_lens_alone() -> None:
    both = read("R&L -3.25/-1.00x170")
    assert eye(both, "right")[:3] == eye(both, "left")[:3] == ["-3.25", "-1.00", "170"]
    alone = read("R -3.25 L bal")
    assert (eye(alone, "right")[0], eye(alone, "left")[0]) == ("-3.25", "")
    ticked = [form["balance"].value() for _, form in alone.context["entry"].eyes]
    assert ticked == [False, True]


def test_a_note_that_is_there_already_stays() -> None:
    answer = read(f"{POWERS} PD 63", notes="Rang the prescriber")
    assert answer.context["entry"].facts["notes"].value() == "Rang the prescriber\nOn the prescription: PD 63"
