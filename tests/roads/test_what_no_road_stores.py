"""What a page may not store, no other way may: each slip goes in on the page and over the API, with the same answer.

It is tried for right and left, as a new record and as a correction; nothing in the whole record changes.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from tests.roads.record import NOUNS, ROADS, Slip, both_eyes, told_on
from tests.roads.stored import all_stored

# On SQLite alone, which itself refuses the least: what no road lets through there, none does.
pytestmark = [pytest.mark.django_db, pytest.mark.either_database]

TOMORROW = timezone.localdate() + timedelta(days=1)
CHILD = timezone.localdate() - timedelta(days=365 * 9)


def _patient(field: str, sent: Any, said: str, **kwargs: Any) -> Slip:
    return Slip("patient", field, field, sent, said, **kwargs)


PATIENTS = [
    _patient("family_name", "", "Write the family name."),
    _patient("given_names", "   ", "Write at least one given name."),
    _patient("family_name", "N" * 201, "This has 201 characters; at most 200 fit."),
    _patient("born_on", TOMORROW.isoformat(), "is in the future"),
    _patient("born_on", "1890-04-02", "years of age; that cannot be right. Check the year."),
    _patient("phone", "12", "A phone number has at least 5 digits."),
    _patient("email", "nobody", "Enter a valid email address."),
    _patient("preferred_contact", "pigeon", "pigeon is not one of the available choices"),
    _patient("notes", "x" * 4001, "at most 4000 characters (it has 4001)"),
    _patient("address", "x" * 501, "at most 500 characters (it has 501)"),
    Slip(
        "patient",
        "guardian",
        "guardian",
        "",
        "Write who is responsible",
        also_typed={"born_on": CHILD.isoformat()},
        also_sent={"born_on": CHILD.isoformat()},
    ),
]


def _eye(field: str, sent: Any, said: str, typed: str | None = None, at: str = "", **also: Any) -> list[Slip]:
    """``at``: the field that is told, where it is not the one with the slip. ``also``: other fields of the eye."""

    def of(eye: str) -> Slip:
        typed_too = {f"{eye}-{name}": str(value) for name, value in also.items()}
        return Slip(
            "prescription",
            f"{eye}-{field}",
            f"{eye}.{field}",
            sent,
            said,
            typed,
            typed_too,
            {eye: also} if also else {},
        )

    return list(both_eyes(of))


EYES = [
    *_eye("axis", 181, "An axis of 181 is not possible"),
    *_eye("axis", 17.5, "An axis of 17.5 is not possible"),
    *_eye("sphere", 250, "+250.00 cannot be read", typed="+250.00"),
    *_eye("sphere", "2.50", "2.50: the sign is missing."),
    *_eye("sphere", "+2.00 in", "+2.00 in cannot be read"),
    *_eye("sphere", "-" + "3" * 40, "at most 20 characters"),
    *_eye("add", -2, "cannot be read", typed="-2.00"),
    *_eye("prism_horizontal", 45, "A prism of 45 is not possible: 0 to 40 Δ", prism_horizontal_base="in"),
    *_eye("prism_horizontal", -1, "A prism of -1 is not possible", prism_horizontal_base="in"),
    *_eye("prism_vertical", 45, "A prism of 45 is not possible: 0 to 40 Δ", prism_vertical_base="up"),
    *_eye("prism_vertical", "+2.00 in", "+2.00 in cannot be read. Write an amount", prism_vertical_base="up"),
    *_eye("prism_horizontal_base", "sideways", "sideways is not one of the available choices", prism_horizontal=2),
    *_eye("acuity", "6" * 21, "This has 21 characters; at most 20 fit."),
]
FACTS = [
    Slip("prescription", "use", "use", "reading", "reading is not one of the available choices"),
    Slip("prescription", "source", "source", "pigeon", "pigeon is not one of the available choices"),
    Slip("prescription", "prescriber", "prescriber", "", "Write who prescribed it."),
    Slip("prescription", "tested_on", "tested_on", TOMORROW.isoformat(), "is in the future"),
    Slip("prescription", "tested_on", "tested_on", "1951-01-01", "is before the patient was born"),
    Slip("prescription", "expires_on", "expires_on", "2026-10-29", "before the date of the test"),
    Slip("prescription", "vertex_mm", "vertex_mm", 4.9, "4.9 mm cannot be right: 5 to 25 mm is possible."),
    Slip("prescription", "vertex_mm", "vertex_mm", 25.1, "25.1 mm cannot be right"),
    Slip("prescription", "vertex_mm", "vertex_mm", "1" * 5000, "is not a number"),
    Slip("prescription", "notes", "notes", "x" * 2001, "at most 2000 characters (it has 2001)"),
]


def _frame(field: str, sent: Any, said: str, path: str = "", typed: str | None = None) -> Slip:
    return Slip("frame", field, path or field, sent, said, typed)


FRAMES = [
    _frame("model", "", "This field is required."),
    _frame("model", "M" * 101, "This has 101 characters; at most 100 fit."),
    _frame("mount", "glued", "glued is not one of the available choices"),
    _frame("material", "wood", "wood is not one of the available choices"),
    _frame("a_mm", 19.9, "A of 19.9 mm is not possible: 20 to 90 mm"),
    _frame("a_mm", 90.1, "A of 90.1 mm is not possible"),
    _frame("b_mm", 380, "Did you mean 38.0?"),
    _frame("b_mm", "wide", "wide is not a number."),
    _frame("dbl_mm", 40.1, "DBL of 40.1 mm is not possible"),
    _frame("ed_mm", 51.9, "ED of 51.9 mm is smaller than A"),
    _frame("ed_mm", 64.5, "does not fit into a box of 52 × 38 mm"),
    _frame("front_curve_d", 14.1, "A front curve of 14.1 D is not possible"),
    _frame("side_length_mm", 59, "A side length of 59 mm is not possible"),
    _frame("side_length_mm", 140.5, "no more than 0 decimal places"),
    _frame("in_stock", -1, "greater than or equal to 0"),
    _frame("in_stock", 1.5, "Enter a whole number."),
    _frame("radii", [26] * 35, "35 radii were found; a shape needs at least 36", "radii_mm", " ".join(["26"] * 35)),
    _frame("radii", [26] * 35 + [-1], "Radius 36 reads “-1”", "radii_mm", " ".join(["26"] * 35 + ["-1"])),
    _frame("radii", [2600] * 36, "hundredths of a millimetre", "radii_mm", " ".join(["2600"] * 36)),
]


def _measured(quantity: str, said: str, *readings: Any, eye: str = "", method: str = "") -> list[Slip]:
    """One figure of the sheet with a slip, of both eyes one after the other where it is taken for each."""

    def of(eye: str) -> Slip:
        figure: dict[str, Any] = {"quantity": quantity, "eye": eye, "readings": list(readings)}
        typed_too, path, field = {}, "readings", f"{quantity}-{eye}"
        if method:
            figure["method"], typed_too, path, field = method, {field: readings[0]}, "method", f"{quantity}-method"
        text, figures = method or " ".join(map(str, readings)), _with(figure)
        told_at = f"measurements[{len(figures) - 1}].{path}"
        return Slip("fitting", field, "measurements", figures, said, text, typed_too, told_at=told_at)

    return [of(eye)] if eye else list(both_eyes(of))


def _with(figure: dict[str, Any]) -> list[dict[str, Any]]:
    """The figures of the usual sheet, the one with the slip last."""
    place = (figure["quantity"], figure["eye"])
    usual = NOUNS["fitting"].sent["measurements"]
    return [*(one for one in usual if (one["quantity"], one["eye"]) != place), figure]


FITTINGS = [
    *_measured("pd_mm", "looks like the PD of both eyes", 63.5),
    *_measured("pd_mm", "A monocular PD of 12 mm is not possible; 16 to 42 can be.", 12),
    *_measured("pd_mm", "“about” is not a reading", "about"),
    *_measured("pd_mm", "9 readings; 8 at most are kept.", *[31] * 9),
    *_measured("near_pd_mm", "is not smaller than the PD", 33),
    *_measured("height_mm", "above the top of the lens: B is 38 mm", 38),
    *_measured("binocular_pd_mm", "looks like the PD of one eye", 31, eye="both"),
    *_measured("face_form_deg", "is not possible", 60, eye="both"),
    *_measured("vertex_mm", "laser is not one of the available choices", 12, method="laser"),
    *_measured("pd_mm", "gauge is not one of the available choices", 31, method="gauge"),
    Slip("fitting", "measured_on", "measured_on", TOMORROW.isoformat(), "That date is in the future."),
    Slip("fitting", "near_distance_mm", "near_distance_mm", 149, "A near working distance of 149 mm is not possible"),
    Slip("fitting", "near_distance_mm", "near_distance_mm", 1501, "A near working distance of 1501 mm is not possible"),
    Slip("fitting", "notes", "notes", "x" * 2001, "at most 2000 characters (it has 2001)"),
]


def _worn(field: str, sent: Any, said: str, path: str = "", **kwargs: Any) -> Slip:
    return Slip("worn pair", field, path or field, sent, said, **kwargs)


WORN_PAIRS = [
    _worn("read_on", TOMORROW.isoformat(), "is in the future"),
    _worn("read_on", "1890-04-02", "is before the patient was born"),
    _worn("use", "", "Choose what it is worn for"),
    _worn("use", "both", "both is not one of the available choices"),
    _worn("kind", "quadrifocal", "quadrifocal is not one of the available choices"),
    _worn("age_years", 31, "31 years cannot be right: 0 to 30 years is possible."),
    _worn("age_years", -1, "-1 years cannot be right"),
    _worn("dislikes", "x" * 501, "This has 501 characters; at most 500 fit."),
    _worn("distances", "x" * 201, "This has 201 characters; at most 200 fit."),
    _worn("right-sphere", "3.25", "the sign is missing", path="right.sphere"),
    _worn("left-axis", 181, "An axis of 181 is not possible", path="left.axis"),
    _worn("right-height_mm", 71, "71 mm cannot be right", path="right.height_mm"),
    _worn("left-base_curve_d", 15, "15 D cannot be right", path="left.base_curve_d"),
]
SLIPS = [*PATIENTS, *EYES, *FACTS, *WORN_PAIRS, *FRAMES, *FITTINGS]


# Over the API a fitting is recorded and not corrected.
CALLS = [(slip, road) for slip in SLIPS for road in ROADS if (slip.noun, road) != ("fitting", "api correct")]


@pytest.mark.parametrize(("slip", "road"), CALLS, ids=str)
def test_a_slip_is_told_in_the_same_words_on_every_road_and_nothing_is_stored(slip: Slip, road: str) -> None:
    is_set_up = NOUNS[slip.noun].set_up()
    before = all_stored()
    told = told_on(road, slip, is_set_up)
    assert list(told) == [slip.place(road)]
    assert slip.said in told[slip.place(road)]
    assert all_stored() == before
