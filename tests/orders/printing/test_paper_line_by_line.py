"""The paper line by line: each value under its heading, with different figures for right and left."""

from __future__ import annotations

from typing import Any

import pytest

from orders.documents.lens_order import LensOrder
from orders.presentation.documents import Headings, power_row
from orders.printing.content.lab_order import LabOrderContent, lab_order_content
from orders.printing.content.tables import Table
from orders.rules import check
from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, LENS_NAMES, PROGRESSIVE, order, traced

HASH = "0123456789abcdef" * 4
NAMED = {**LENS_NAMES, "design_kind": "progressive", "design_name": "Progressive"}
UNLIKE: dict[str, Any] = {
    "prescription__right": {"sphere": -3.25, "cylinder": -1.0, "axis": 170, "add": 2.25, "intermediate_add": 1.25},
    "fitting__right": {"pd_mm": 31.0, "near_pd_mm": 29.5, "height_mm": 22.0, "vertex_mm": 13.0},
    "fitting__left": {"pd_mm": 32.5, "near_pd_mm": 30.5, "height_mm": 21.5, "vertex_mm": 12.5},
    "lenses__right": {
        **PROGRESSIVE,
        "base_curve_d": 4.25,
        "centre_thickness_mm": 2.1,
        "colour": "Brown",
        "edge": {"polished": True, "bevel": "hidden bevel"},
        "extra": NAMED,
    },
    "lenses__left": {
        **PROGRESSIVE,
        "corridor_mm": 14.5,
        "blank_mm": 65,
        "instruction": "balance",
        "extra": {**NAMED, "material_name": "Tough", "treatment_names": ["Hard coat"]},
    },
}


def content(**changes: Any) -> LabOrderContent:
    written: LensOrder = order(**changes)
    return lab_order_content(written, check(written, CATALOGUE_DOCUMENT), HASH)


def table(title: str, **changes: Any) -> Table:
    (found,) = [one for one in content(**changes).tables if one.title == title]
    return found


def rows(title: str, **changes: Any) -> list[dict[str, str]]:
    """Heading → value, row by row."""
    found = table(title, **changes)
    return [dict(zip(found.head, row, strict=True)) for row in found.rows]


def test_the_head_of_the_paper() -> None:
    said = content()
    assert (said.number, said.revision, said.heading) == ("D-00042", "1", "Pair of lenses")
    assert said.practice == ("Harbour Lane Opticians", "12 Harbour Lane", "Saltwick", "01632 960123")
    assert (said.account, said.lab) == ("4711", "Quay Street Lab")
    assert said.needed == "4 Dec 2026"
    assert said.facts == (
        ("Ordered", "25 Nov 2026"),
        ("Patient", "P-00017"),
        ("Supply", "Edged and fitted in the frame"),
        ("Use", "distance"),
        ("Tested", "30 Oct 2026, vertex 12.0 mm"),
        ("Prescriber", "B. Prescriber"),
    )
    assert (said.short_hash, said.sha256) == ("0123 4567 89ab cdef", HASH)


@pytest.mark.parametrize(
    ("changes", "heading"),
    [
        ({"lenses__left": None}, "Right lens only"),
        ({"lenses__right": None}, "Left lens only"),
        ({"lenses__left": None, "lenses__right": None}, "No lens ordered"),
        ({"purpose": "remake", "remake_of": "D-00007"}, "Remake of D-00007 · Pair of lenses"),
        ({"purpose": "remake", "lenses__right": None}, "Remake of an order not named · Left lens only"),
    ],
)
def test_the_heading_says_what_the_job_is(changes: dict[str, Any], heading: str) -> None:
    assert content(**changes).heading == heading


def test_the_prescription() -> None:
    assert rows("Prescription", **UNLIKE) == [
        {
            "": "R",
            "Sphere": "-3.25",
            "Cylinder": "-1.00",
            "Axis": "170",
            "Add": "+2.25",
            "Interm. add": "+1.25",
            "Prism Δ, base": "–",
        },
        {
            "": "L",
            "Sphere": "-2.75",
            "Cylinder": "-0.50",
            "Axis": "10",
            "Add": "+2.00",
            "Interm. add": "–",
            "Prism Δ, base": "1.00 in, 0.50 down",
        },
    ]


def test_a_prescribed_balance_lens_stands_by_its_name_beside_what_is_made() -> None:
    balance = {"prescription__left__extra": {"balance": True}}
    assert [row["Sphere"] for row in rows("Prescription", **balance)] == ["-3.25", "balance -2.75"]
    unpowered = {**balance, "prescription__left__sphere": None, "prescription__left__cylinder": None}
    assert [row["Sphere"] for row in rows("Prescription", **unpowered)] == ["-3.25", "balance"]
    shown = [power_row(order(**changes).prescription.left, Headings("R", "L")) for changes in (balance, unpowered, {})]
    assert [row["sphere"] for row in shown] == ["balance −2.75", "balance", "−2.75"]


def test_the_prescription_of_a_practice_that_writes_plus_cylinders_and_other_headings() -> None:
    practice = {"cylinder_form": "plus", "right_heading": "OD", "left_heading": "OS"}
    found = rows("Prescription", practice__extra=practice)
    assert [(row[""], row["Sphere"], row["Cylinder"], row["Axis"]) for row in found] == [
        ("OD", "-4.25", "+1.00", "80"),
        ("OS", "-3.25", "+0.50", "100"),
    ]


def test_the_centring() -> None:
    assert rows("Centring, mm", **UNLIKE) == [
        {"": "R", "PD": "31.0", "Near PD": "29.5", "Height (fitting cross)": "22.0", "Vertex as worn": "13.0"},
        {"": "L", "PD": "32.5", "Near PD": "30.5", "Height (fitting cross)": "21.5", "Vertex as worn": "12.5"},
    ]
    assert table("Centring, mm").note == (
        "binocular PD 63.5 mm · pantoscopic tilt 9.0 ° · face form 5.0 ° · near distance 400 mm"
    )
    assert table("Centring, mm", fitting__face_form_deg=None, fitting__binocular_pd_mm=None).note == (
        "pantoscopic tilt 9.0 ° · near distance 400 mm"
    )


def test_the_height_says_what_it_is_measured_to() -> None:
    assert "Height (optical centre)" in table("Centring, mm").head
    assert "Height (fitting cross)" in table("Centring, mm", **UNLIKE).head
    assert "Height (see lens)" in table("Centring, mm", lenses__right=UNLIKE["lenses__right"]).head


def test_the_lenses() -> None:
    assert rows("Lenses", **UNLIKE) == [
        {
            "": "R",
            "Design (code)": "Progressive (prog)",
            "Material (code)": "1.60 (m160)",
            "Corridor": "14.0 mm",
            "Blank": "70.0 mm",
            "Base curve (1.530)": "4.25 D",
            "Centre": "2.1 mm",
            "Edge finish": "polished, hidden bevel",
            "Treatments (code)": "Anti-reflection (ar); tint Brown",
        },
        {
            "": "L",
            "Design (code)": "Progressive (prog)",
            "Material (code)": "Tough (m160), n 1.6",
            "Corridor": "14.5 mm",
            "Blank": "65.0 mm",
            "Base curve (1.530)": "–",
            "Centre": "–",
            "Edge finish": "–",
            "Treatments (code)": "Hard coat (ar); balance lens",
        },
    ]


def test_an_eye_without_a_lens_has_none_ordered_and_nothing_worked_out() -> None:
    found = rows("Lenses", lenses__right=None)
    assert (found[0].pop(""), found[0].pop("Design (code)")) == ("R", "none ordered")
    assert set(found[0].values()) == {"–"}
    assert [row[""] for row in rows("Worked out, mm", lenses__right=None)] == ["L"]


def test_an_edge_says_what_is_left_to_the_lab_and_what_is_not() -> None:
    def edge(**edge: Any) -> str:
        lens = {"design": "sv", "material": "m160", "edge": edge}
        return rows("Lenses", lenses__right=lens)[0]["Edge finish"]

    assert edge(polished=True) == "polished"
    assert edge(polished=False, bevel="mini bevel") == "not polished, mini bevel"
    assert edge(bevel=" ") == "–"


def test_the_frame() -> None:
    known = {"Model, colour, stock number": "Alder 50", "Material": "–", "Mount": "full rim"}
    known |= {"Source": "enclosed with this order", "A": "50.0", "B": "40.0", "DBL": "18.0", "ED": "54.0"}
    known |= {"Side": "–", "Front curve (1.530)": "–", "Shape": "from A, B and ED"}
    assert rows("Frame, mm") == [known]
    extra = {"colour": "Ink", "stock_number": "F147", "material": "mixed", "side_length_mm": 145}
    found = rows("Frame, mm", frame__shape=traced(), frame__front_curve_d=5.25, frame__extra=extra)
    told = {"Model, colour, stock number": "Alder 50, Ink, F147", "Material": "metal and plastic", "Side": "145"}
    assert found == [{**known, **told, "Front curve (1.530)": "5.25 D", "Shape": "72 radii attached"}]


def test_what_another_program_put_under_extra_of_a_frame_breaks_no_paper() -> None:
    odd = {"colour": 7, "stock_number": None, "material": ["x"], "side_length_mm": "long"}
    (found,) = rows("Frame, mm", frame__extra=odd)
    assert (found["Model, colour, stock number"], found["Material"], found["Side"]) == ("Alder 50", "–", "–")


def test_what_is_worked_out_stands_under_its_heading() -> None:
    right, left = rows("Worked out, mm", **UNLIKE)
    # A/2 + (DBL/2 − PD)/cos 5° and height − B/2, by hand: 25 − 22.08 and 22 − 20, 25 − 23.59 and 21.5 − 20.
    assert (right["Decentration"], left["Decentration"]) == ("2.9 in, 2.0 up", "1.4 in, 1.5 up")
    # ED + 2 × decentration + 2, by hand.
    assert (right["Blank needed (ED rule)"], left["Blank needed (ED rule)"]) == ("63.1 (62.0)", "61.1 (59.0)")
    assert (right["Base curve (1.530)"], left["Base curve (1.530)"]) == ("4.25 D", "4.00 D")
    assert (right["Centre"], left["Centre"]) == ("2.1", "1.5")
    # Regression values: the lens body has tests of its own.
    assert (right["Edge"], left["Edge"]) == ("3.3 to 5.0", "2.5 to 3.8")
    assert (right["Weight"], left["Weight"]) == ("7.4 g", "5.5 g")
    outwards = rows("Worked out, mm", fitting__right={"pd_mm": 35.0, "height_mm": 18.5})[0]
    assert outwards["Decentration"] == "1.1 out, 1.5 down"


@pytest.mark.parametrize(
    ("changes", "cautions"),
    [
        ({}, []),
        ({"frame__source": "to_follow"}, ["The frame follows; it carries the number D-00042."]),
        ({"frame__source": "own"}, ["Patient's own frame: used, handle with care."]),
        ({"lenses__left": None}, ["Right lens only: match the lens that stays in the frame."]),
        ({"lenses__right": None}, ["Left lens only: match the lens that stays in the frame."]),
        ({"practice__country": "US"}, ["Impact resistance to 21 CFR 801.410; test as the rule asks."]),
        (
            {"patient__protected": True},
            ["For a sight-impaired person: protected wearer, checked by a registered person before supply."],
        ),
        (
            {"patient__born_on": "2010-11-26"},
            ["For a child: protected wearer, checked by a registered person before supply."],
        ),
        ({"patient__born_on": "2010-11-25"}, []),
    ],
)
def test_a_caution_stands_where_it_applies_and_nowhere_else(changes: dict[str, Any], cautions: list[str]) -> None:
    assert list(content(**changes).cautions) == cautions


@pytest.mark.parametrize("eye", ["right", "left"])
@pytest.mark.parametrize(
    ("instruction", "words"), [("balance", "balance lens"), ("occluder", "occluder"), ("frosted", "frosted lens")]
)
def test_an_instruction_names_its_eye(eye: str, instruction: str, words: str) -> None:
    lens = {"design": "sv", "material": "m160", "blank_mm": 65, "treatments": ["ar"], "extra": LENS_NAMES}
    said = content(**{f"lenses__{eye}": {**lens, "instruction": instruction}}).cautions
    assert list(said) == [f"{eye.capitalize()} eye: {words}."]


@pytest.mark.parametrize(
    ("entry", "line"),
    [
        (
            {"rule": "decentration", "eye": "right", "by": "R. Castellan", "reason": "Chosen so."},
            "The right lens is decentred 6 mm in; 0 to 4 mm in is usual. Confirmed by R. Castellan: Chosen so.",
        ),
        (
            {"rule": "decentration", "eye": "right", "by": "R. Castellan"},
            "The right lens is decentred 6 mm in; 0 to 4 mm in is usual. Confirmed by R. Castellan.",
        ),
        (
            {"rule": "box-complete", "eye": None, "by": "R. Castellan", "reason": "Known to the lab"},
            "The frame has neither an ED nor a traced shape. Lifted by R. Castellan: Known to the lab.",
        ),
    ],
)
def test_what_was_lifted_is_told_with_who_and_why(entry: dict[str, Any], line: str) -> None:
    facts = {"fitting__right": {"pd_mm": 28.0, "height_mm": 22.0}, "frame__ed_mm": None, "supply": "uncut"}
    said = content(lifted=[entry], **facts).lifted
    assert list(said) == [line]


def test_what_was_answered_alike_for_both_eyes_is_one_line_without_the_advice_to_the_practice() -> None:
    entries = [{"rule": "decentration", "eye": eye, "by": "R. Castellan"} for eye in ("right", "left")]
    fitted = {"pd_mm": 28.0, "height_mm": 22.0}
    said = content(lifted=entries, fitting__right=fitted, fitting__left=fitted, fitting__binocular_pd_mm=56.0).lifted
    found = "Each lens is decentred 6 mm in; 0 to 4 mm in is usual."
    assert list(said) == [f"{found} Confirmed by R. Castellan."]
    assert "Check PD" not in said[0]


def test_the_pair_worn_now_stands_below_the_new_powers_with_what_is_known_of_it() -> None:
    worn = {
        "read_on": "2026-11-20",
        "use": "distance",
        "right": {"sphere": -1.25, "cylinder": -0.5, "axis": 90, "prism": [{"amount": 1.0, "base": "in"}]},
        "left": {"sphere": 0.0, "add": 1.5},
        "extra": {"design_kind": "progressive", "age_years": 3, "right": {"height_mm": 19.5, "base_curve_d": 4.25}},
    }
    told = table("Pair worn now", patient__present_spectacles=worn)
    right, left = [dict(zip(told.head, row, strict=True)) for row in told.rows]
    assert (right["Sphere"], right["Cylinder"], right["Axis"], right["Prism Δ, base"]) == (
        "-1.25",
        "-0.50",
        "90",
        "1.00 in",
    )
    assert (right["Height mm"], right["Base curve (1.530)"]) == ("19.5", "4.25 D")
    assert (left["Sphere"], left["Add"], left["Height mm"], left["Base curve (1.530)"]) == ("0.00", "+1.50", "–", "–")
    assert told.note == "read on the lensmeter 20 Nov 2026 · distance · progressive · 3 years old"
    titles = [one.title for one in content(patient__present_spectacles=worn).tables]
    assert titles[:4] == ["To be made", "Prescription", "Pair worn now", "Centring, mm"]


def test_without_a_reading_there_is_no_table_of_the_pair_worn_now_and_odd_extras_are_left_out() -> None:
    assert "Pair worn now" not in [one.title for one in content().tables]
    odd = {"extra": {"design_kind": 7, "age_years": "old", "right": {"height_mm": "tall"}, "left": []}}
    told = table("Pair worn now", patient__present_spectacles=odd)
    assert told.note == "read on the lensmeter"
    assert [row[-2:] for row in told.rows] == [("–", "–"), ("–", "–")]
