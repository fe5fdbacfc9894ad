# ruff: noqa: E501 - a case is one line, so that the cases can be compared
"""What is understood of a paper whose words were all recognised: the layouts, and one case for each way of writing."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispensing.prescribing.paper.document import document
from dispensing.prescribing.paper.reading import read_paper
from dispensing.prescribing.paper.words import Word
from tests.reading.invented import LANGUAGES, invent, truth_of
from tests.reading.layouts import LAYOUTS, paper
from tests.reading.measure import judged


def typed(text: str) -> list[Word]:
    """A page typed with one width for all letters: each word where it stands in the text."""
    lines = text.strip("\n").split("\n")
    return [
        Word(match.group(), (40 + 12 * match.start(), 40 + 40 * number, 12 * len(match.group()), 20))
        for number, line in enumerate(lines)
        for match in re.finditer(r"\S+", line)
    ]


def read(text: str, month_first: bool | None = None) -> dict[str, Any]:
    return document(read_paper(typed(text), month_first), "paper.png")


def values(eye: dict[str, Any]) -> dict[str, Any]:
    """What was read of one eye, without what is not on the paper; a tilde before what is marked."""
    found = {
        name: f"~{field['value']}" if "unsure" in field else field["value"]
        for name, field in eye.items()
        if name != "prism" and field is not None
    }
    prisms = [(one["amount"]["value"], one["base"]["value"]) for one in eye["prism"]]
    return found | ({"prism": prisms} if prisms else {})


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.__name__)
@pytest.mark.parametrize("language", LANGUAGES)
def test_every_layout_in_every_language_is_understood_to_the_last_figure(layout: Any, language: str) -> None:
    invented = invent(random.Random(f"{layout.__name__}{language}"), language)
    sheet, printed = paper(layout, invented)
    truth = truth_of(invented, printed)
    results = judged(document(read_paper(sheet.words()), "paper"), truth)
    assert set(results.values()) <= {"right", "right marked"}
    assert len(results) >= 5


TABLE = """
          Sph      Cyl      Axis     Add
R         {}    {}    {}      {}
L         -2.75    -0.50    10       2.00
"""
LEFT = {"sphere": -2.75, "cylinder": -0.5, "axis": 10, "add": 2.0}

CELLS = {
    "as they come": (("-3.25", "-1.00", "170", "+2.00"), {"sphere": -3.25, "cylinder": -1.0, "axis": 170, "add": 2.0}),
    "commas, true minus": (("−3,25", "−1,00", "170°", "2,00"), {"sphere": -3.25, "cylinder": -1.0, "axis": 170, "add": 2.0}),
    "plano": (("plano", "-1.00", "170", "2.00"), {"sphere": 0.0, "cylinder": -1.0, "axis": 170, "add": 2.0}),
    "infinity": (("∞", "-1.00", "170", "2.00"), {"sphere": 0.0, "cylinder": -1.0, "axis": 170, "add": 2.0}),
    "no cylinder": (("-3.25", "DS", "---", "2.00"), {"sphere": -3.25, "add": 2.0}),
    "with units": (("-3.25D", "-1.00D", "005", "2.00D"), {"sphere": -3.25, "cylinder": -1.0, "axis": 5, "add": 2.0}),
    "lost points": (("-325", "-100", "170", "200"), {"sphere": "~-3.25", "cylinder": "~-1.0", "axis": 170, "add": "~2.0"}),
    "a lost point with two places": (("-25", "-1.00", "170", "2.00"), {"sphere": "~None", "cylinder": -1.0, "axis": 170, "add": 2.0}),
    "lost sign": (("3.25", "-1.00", "170", "2.00"), {"sphere": "~None", "cylinder": -1.0, "axis": 170, "add": 2.0}),
    "letters for figures": (("-3.2S", "-1.O0", "l70", "2.00"), {"sphere": "~-3.25", "cylinder": "~-1.0", "axis": "~170", "add": 2.0}),
    "without decimals": (("-5", "-1", "170", "2"), {"sphere": "~-5.0", "cylinder": "~-1.0", "axis": 170, "add": "~2.0"}),
    "out of range": (("-31.00", "-16.00", "181", "9.00"), {"sphere": "~None", "cylinder": "~None", "axis": "~None", "add": "~None"}),
    "just within": (("-30.00", "-15.00", "180", "4.50"), {"sphere": -30.0, "cylinder": -15.0, "axis": 180, "add": "~4.5"}),
    "not in steps": (("-3.26", "-1.00", "170", "2.00"), {"sphere": "~-3.26", "cylinder": -1.0, "axis": 170, "add": 2.0}),
    "an eighth cut": (("-3.37", "-1.12", "170", "2.00"), {"sphere": -3.37, "cylinder": -1.12, "axis": 170, "add": 2.0}),
    "axis without cylinder": (("-3.25", "", "35", "2.00"), {"sphere": -3.25, "axis": "~35", "add": 2.0}),
    "other cylinder form": (("-3.25", "+1.00", "80", "2.00"), {"sphere": -3.25, "cylinder": "~1.0", "axis": 80, "add": 2.0}),
    "minus add": (("-3.25", "-1.00", "170", "-2.00"), {"sphere": -3.25, "cylinder": -1.0, "axis": 170, "add": "~None"}),
}  # fmt: skip


@pytest.mark.parametrize("name", CELLS)
def test_a_cell_is_read_marked_or_left_empty(name: str) -> None:
    figures, expected = CELLS[name]
    found = read(TABLE.format(*(f"{text:5}" for text in figures)))
    assert values(found["right"]) == expected
    other = {"cylinder": "~-0.5"} if name == "other cylinder form" else {}
    other |= {"add": "~2.0"} if str(expected.get("add")) == "~4.5" else {}
    other |= {"axis": "~10"} if figures[2] == "005" else {}
    assert values(found["left"]) == LEFT | other


def test_what_is_not_filled_in_keeps_its_text_and_place() -> None:
    sphere = read(TABLE.format("3.25 ", "-1.00", "170  ", "2.00 "))["right"]["sphere"]
    assert sphere["text"] == "3.25"
    assert sphere["unsure"] == "No sign can be read: plus or minus?"
    assert sphere["box"] == [160.0, 80.0, 48.0, 20.0]


WAYS = {
    "plain lines": ("R: -3.25 / -1.00 x 170   Add +2.00   2Δ BI\nL: plano DS", {"sphere": -3.25, "cylinder": -1.0, "axis": 170, "add": 2.0, "prism": [(2.0, "in")]}, {"sphere": 0.0, "add": "~2.0"}),
    "both on one line": ("Rx: OD: -2.00 -0.50 x 090    OS: -2.25 -0.25 x 085\nADD +1.50", {"sphere": -2.0, "cylinder": -0.5, "axis": 90, "add": 1.5}, {"sphere": -2.25, "cylinder": -0.25, "axis": 85, "add": 1.5}),
    "cylinder in brackets": ("OD  (-0,75 à 90°) +1,50\nOG  +0,25", {"sphere": 1.5, "cylinder": -0.75, "axis": 90}, {"sphere": 0.25}),
    "an O read as nought": ("0D: -1,00 -0,50 90\n0S: +2,00\n", {"sphere": -1.0, "cylinder": -0.5, "axis": 90}, {"sphere": 2.0}),
    "ojo izquierdo read as 01": ("0D -1,00\n01 +2,00\n", {"sphere": -1.0}, {"sphere": 2.0}),
    "words before figures": ("Rechts sph -1,25 cyl -0,50 A 90\nLinks sph +0,75 cyl -0,25 A 5", {"sphere": -1.25, "cylinder": -0.5, "axis": 90}, {"sphere": 0.75, "cylinder": -0.25, "axis": 5}),
    "an eye named twice": ("                 Sph     Cyl    Axis\nRight Eye (OD)   -3.25   -1.00  090\nOS - Left        +2.00   DS     --", {"sphere": -3.25, "cylinder": -1.0, "axis": 90}, {"sphere": 2.0}),
    "no eye named": ("Sph    Cyl    Axis\n-3.25  -1.00  170\n-2.00  -0.50  10", {"sphere": "~-3.25", "cylinder": "~-1.0", "axis": "~170"}, {"sphere": "~-2.0", "cylinder": "~-0.5", "axis": "~10"}),
    "ojo izquierdo with a small l": ("    Esf    Cil    Eje\nOD  -1,00  -0,50  90\nOl  +2,00", {"sphere": -1.0, "cylinder": -0.5, "axis": 90}, {"sphere": 2.0}),
    "whole figures below a table": ("      Sf      Cil     Asse\nOD  -1,25   -0,50   88\nOS  -3,00   -2,25   54\nDI    DAC     Oculista\n69    14      Dr. P. Exemple", {"sphere": -1.25, "cylinder": -0.5, "axis": 88}, {"sphere": -3.0, "cylinder": -2.25, "axis": 54}),
    "a prism by other triangles": ("R: -3.25  Add +2.00  2 ∆ BI\nL: -1.00  Add +2.00  1.5 △ BO", {"sphere": -3.25, "add": 2.0, "prism": [(2.0, "in")]}, {"sphere": -1.0, "add": 2.0, "prism": [(1.5, "out")]}),
    "two cells without a gap": ("     Sph    Zyl  Achse\nR    +1,50-0,75  1°\nL    +4,00-0,50  43°", {"sphere": 1.5, "cylinder": -0.75, "axis": 1}, {"sphere": 4.0, "cylinder": -0.5, "axis": 43}),
    "the name of an eye lost": ("       Sph    Cyl    Axis\nR      -3.25  -1.00  170\n       -2.00  -0.50  10", {"sphere": -3.25, "cylinder": -1.0, "axis": 170}, {"sphere": "~-2.0", "cylinder": "~-0.5", "axis": "~10"}),
    "ojo read as 0jo": ("         0jo derecho   0jo izquierdo\nEsfera   -1,25         +0,50", {"sphere": -1.25}, {"sphere": 0.5}),
    "a distance beside the eye": ("             Sph     Cyl    Axis   Prism  Base   V.A.\nR  DISTANCE  +1.25   -0.50  90     1.0    UP     6/7.5\n   NEAR ADD  +2.50\nL  DISTANCE  +1.75   DS            1.0    DOWN   6/6\n   NEAR ADD  +2.50", {"sphere": 1.25, "cylinder": -0.5, "axis": 90, "add": 2.5, "acuity": "6/7.5", "prism": [(1.0, "up")]}, {"sphere": 1.75, "add": 2.5, "acuity": "6/6", "prism": [(1.0, "down")]}),
    "far beside near": ("Fernwerte                     Nahwerte\n      Sph    Zyl   Achse      Sph    Zyl   Achse\nR    +1,25  -0,50   90       +3,50  -0,50   90\nL    +1,75  -0,25   85       +4,00  -0,25   85", {"sphere": 1.25, "cylinder": -0.5, "axis": 90, "add": "~2.25"}, {"sphere": 1.75, "cylinder": -0.25, "axis": 85, "add": "~2.25"}),
    "a cross before the axis in a table": ("EYE     SPH     CYL     AXIS    ADD\nOD    - 1.25  + 0.75    x 090   +1.50\nOS    - 1.00  + 0.50    x 085   +1.50", {"sphere": -1.25, "cylinder": 0.75, "axis": 90, "add": 1.5}, {"sphere": -1.0, "cylinder": 0.5, "axis": 85, "add": 1.5}),
    "words before figures, eyes side by side": ("Rechtes Auge (R)           Linkes Auge (L)\nSph.   -0,75               Sph.   -1,00\nZyl.   -0,50               Zyl.   -0,25\nAchse  175°                Achse  4°\nPris   1,5 Basis innen     Pris   1,5 Basis außen", {"sphere": -0.75, "cylinder": -0.5, "axis": 175, "prism": [(1.5, "in")]}, {"sphere": -1.0, "cylinder": -0.25, "axis": 4, "prism": [(1.5, "out")]}),
    "headings of one letter": ("        S       C      A     P     B     ADD\nOD      +3,50   -1,00  110   2,0   180   2,25\nOS      +3,25   -1,25  70    2,0   180   2,25", {"sphere": 3.5, "cylinder": -1.0, "axis": 110, "add": 2.25, "prism": [(2.0, "out")]}, {"sphere": 3.25, "cylinder": -1.25, "axis": 70, "add": 2.25, "prism": [(2.0, "in")]}),
    "adds in the column of the sphere": ("           RIGHT EYE               LEFT EYE\n       SPH    CYL   AXIS        SPH    CYL   AXIS\nDIST   -1.50  -0.75  20        -1.25  -0.50  160\nINTER  +1.00 ADD               +1.00 ADD\nNEAR   +2.00 ADD               +2.00 ADD", {"sphere": -1.5, "cylinder": -0.75, "axis": 20, "add": 2.0, "intermediate_add": 1.0}, {"sphere": -1.25, "cylinder": -0.5, "axis": 160, "add": 2.0, "intermediate_add": 1.0}),
    "side by side without an eye": ("SPH    CYL    AXIS      SPH    CYL    AXIS\n-2.25  -0.75  15        -2.50  -0.50  170", {"sphere": "~-2.25", "cylinder": "~-0.75", "axis": "~15"}, {"sphere": "~-2.5", "cylinder": "~-0.5", "axis": "~170"}),
    "a line in each half": ("        Right                       Left\n        +0.25/-0.50x90              -1.00/-0.75x100\nAdd     +2.25                       +2.25", {"sphere": 0.25, "cylinder": -0.5, "axis": 90, "add": 2.25}, {"sphere": -1.0, "cylinder": -0.75, "axis": 100, "add": 2.25}),
    "a cylinder without an axis": ("R  -1.00  -0.50\nL  -1.00  -0.50  90", {"sphere": -1.0, "cylinder": "~-0.5"}, {"sphere": -1.0, "cylinder": -0.5, "axis": 90}),
    "bases with a dot": ("R -1.00  2Δ B.IN\nL -1.00  2Δ B.OUT", {"sphere": -1.0, "prism": [(2.0, "in")]}, {"sphere": -1.0, "prism": [(2.0, "out")]}),
    "near power": ("          Sph     Cyl    Axis\nDistance\nR         -3.25   -1.00  170\nL         -2.75\nNear\nR         -1.25   -1.00  170\nL         -0.50", {"sphere": -3.25, "cylinder": -1.0, "axis": 170, "add": "~2.0"}, {"sphere": -2.75, "add": "~2.25"}),
    "two adds": ("R: -3.25  Add 2.00  Int add 1.00\nL: -3.00  Add 2.00  Int add 1.00", {"sphere": -3.25, "add": 2.0, "intermediate_add": 1.0}, {"sphere": -3.0, "add": 2.0, "intermediate_add": 1.0}),
    "intermediate for both": ("R: -3.25\nL: -3.00\nAdd +2.00\nZwischenaddition 1,00", {"sphere": -3.25, "add": 2.0, "intermediate_add": 1.0}, {"sphere": -3.0, "add": 2.0, "intermediate_add": 1.0}),
    "a base in degrees between": ("      Sph    Prism   Base\nR     -3.25  2.0     45°\nL     -3.00  1.0     0", {"sphere": -3.25, "prism": [(1.41, "in"), (1.41, "up")]}, {"sphere": -3.0, "prism": [(1.0, "out")]}),
    "two prisms an eye": ("      Sph    Prism  Base  Prism  Base\nR     -3.25  2.0    out   0.5    up\nL     -3.00  1.0    in", {"sphere": -3.25, "prism": [(2.0, "out"), (0.5, "up")]}, {"sphere": -3.0, "prism": [(1.0, "in")]}),
    "a prism without a base": ("      Sph    Prism  Base\nR     -3.25  2.0\nL     -3.00  1.0    in", {"sphere": -3.25, "prism": [(2.0, None)]}, {"sphere": -3.0, "prism": [(1.0, "in")]}),
    "an eye missing": ("      Sph    Cyl    Axis\nR     -3.25  -1.00  170", {"sphere": -3.25, "cylinder": -1.0, "axis": 170}, {}),
    "acuities": ("      Sph    VA sc   VA cc\nR     -3.25  6/60    6/6\nL     -3.00  6/36    6/9-2", {"sphere": -3.25, "acuity": "6/6"}, {"sphere": -3.0, "acuity": "6/9-2"}),
}  # fmt: skip


@pytest.mark.parametrize("name", WAYS)
def test_each_way_of_writing_is_understood(name: str) -> None:
    text, right, left = WAYS[name]
    found = read(text)
    assert values(found["right"]) == right
    assert values(found["left"]) == left


def test_of_an_old_and_a_new_prescription_the_new_one_counts() -> None:
    text = "{}\n   Sph    Cyl   Axis\nR  -1.00  -0.50  90\nL  -1.00\n{}\n   Sph    Cyl   Axis\nR  -1.25  -0.75  95\nL  -1.50"
    for old, new, counts in (("Alte Werte", "Neue Werte", -1.25), ("New prescription", "Previous prescription", -1.0)):
        found = read(text.format(old, new))
        assert found["right"]["sphere"]["value"] == counts
        assert "unsure" not in found["right"]["sphere"]
        assert found["other_prescriptions"] == 1


def test_of_two_prescriptions_that_nothing_tells_apart_the_first_is_marked() -> None:
    found = read("R  -1.00\nL  -1.00\n\n\nR  -2.00\nL  -2.00")
    assert values(found["right"]) == {"sphere": "~-1.0"}
    assert found["right"]["sphere"]["unsure"] == "There is more than one prescription on the page."


FACTS = {
    "English": ("Date of test: 25/03/2026  Valid until: 24 March 2028\nBVD 12 mm   PD 63\nOptometrist: Dr. Test Person", (12.0, 63.0, "2026-03-25", "2028-03-24", "Dr. Test Person")),
    "German": ("Refraktion vom 4. März 2026\nGültig bis: 3.3.2028   HSA: 13,5   PD 31,5/32,0\nAugenarzt: Dr. Erfunden", (13.5, 63.5, "2026-03-04", "2028-03-03", "Dr. Erfunden")),
    "French": ("Date de l'examen : 4 mars 2026   Valable jusqu'au 04/03/2029\nEP 62,5  DV 12\nOphtalmologiste : Dr Inventé", (12.0, 62.5, "2026-03-04", "2029-03-04", "Dr Inventé")),
    "Spanish": ("Fecha: 4 de marzo de 2026\nVálido hasta 04/03/2028  DIP 32/31\nDV 14   Optometrista: Dra. Inventada", (14.0, 63.0, "2026-03-04", "2028-03-04", "Dra. Inventada")),
    "Italian": ("Data esame 04-03-26\nScadenza 04.03.2028   DAC 12   DI 64\nOculista Dott. Inventato", (12.0, 64.0, "2026-03-04", "2028-03-04", "Dott. Inventato")),
    "Dutch": ("Meetdatum 4 mrt 2026\nGeldig tot 4-3-2028  HA 12  PD 63\nOogarts: V. Voorbeeld", (12.0, 63.0, "2026-03-04", "2028-03-04", "V. Voorbeeld")),
}  # fmt: skip


@pytest.mark.parametrize("language", FACTS)
def test_the_facts_beside_the_powers_are_found(language: str) -> None:
    text, expected = FACTS[language]
    found = read(text)
    names = ("vertex_mm", "pd_mm", "tested_on", "expires_on", "prescriber")
    assert tuple(found[name] and found[name]["value"] for name in names) == expected
    assert values(found["right"]) == values(found["left"]) == {}


def test_a_date_that_can_be_read_either_way_is_marked_unless_the_country_is_known() -> None:
    text = "Date of test: 04/03/2026\nR -1.00"
    assert (read(text)["tested_on"]["value"], "unsure" in read(text)["tested_on"]) == ("2026-03-04", True)
    known = read(text, month_first=True)["tested_on"]
    assert (known["value"], "unsure" in known) == ("2026-04-03", False)
    assert "unsure" not in read("Date of test: 25/03/2026\nR -1.00")["tested_on"]


def test_an_october_that_begins_with_a_nought_is_one() -> None:
    assert read("Date of test: 6 0ctober 2026")["tested_on"]["value"] == "2026-10-06"
    assert read("Meetdatum: 01-10-2026")["tested_on"]["value"] == "2026-10-01"


def test_a_name_with_more_behind_it_is_marked() -> None:
    found = read("Prescribed by: Q. Tester GOC 01-99999")["prescriber"]
    assert (found["value"], "unsure" in found) == ("Q. Tester GOC", True)
    assert "unsure" not in read("Prescribed by: Q. Tester  01-99999")["prescriber"]
    for said in ("Q. TesterSTAMP", "STAMP"):
        assert read(f"Prescribed by: {said}")["prescriber"]["unsure"] == "More than the name may have been read."
    assert read("Prescribed by: Dr. Q.")["prescriber"]["unsure"] == "Less than the name may have been read."
    assert "unsure" not in read("Prescribed by: Dr. Q. Li")["prescriber"]


@pytest.mark.parametrize(
    ("line", "text", "unsure"),
    [
        ("L  Balance", "Balance", None),
        ("Links  Ausgleichsglas", "Ausgleichsglas", None),
        ("LE  bal  -2.00", "bal", "A power stands beside it."),
        ("L  frosted", None, None),
        ("Balance due 20.00", None, None),
    ],
)
def test_a_balance_lens_is_read_for_the_eye_that_is_named_before_it(
    line: str, text: str | None, unsure: str | None
) -> None:
    found = read(f"R -1.00 -0.50 x 90\n{line}")
    balance = found["left"].get("extra", {}).get("balance", {})
    assert (balance.get("text"), balance.get("unsure")) == (text, unsure)
    assert "extra" not in found["right"]
    assert found["right"]["sphere"]["value"] == -1.0


def test_whose_paper_it_is_is_read_and_no_birth_date_taken_for_the_test() -> None:
    found = read("Name: A. Sample   DOB: 02/04/1968\nR -1.00\nDate of test: 25/03/2026")
    assert (found["patient"]["value"], found["born_on"]["value"]) == ("A. Sample", "1968-04-02")
    assert found["tested_on"]["value"] == "2026-03-25"
    assert read("DOB: 02/04/1968\nR -1.00")["tested_on"] is None
    assert read("DOB: 02/04/68\nR -1.00")["born_on"]["value"] is None


def test_a_figure_that_a_stamp_or_pen_crosses_is_filled_in_and_marked_and_its_neighbours_are_not() -> None:
    words = [replace(word, crossed=word.text in ("-3.25", "25/03/2026")) for word in typed(CROSSED_PAPER)]
    found = document(read_paper(words), "")
    assert values(found["right"]) == {"sphere": "~-3.25", "cylinder": -1.0, "axis": 170}
    assert values(found["left"]) == {"sphere": -2.0}
    for field in (found["right"]["sphere"], found["tested_on"]):
        assert (field["unsure"], field["confidence"]) == ("A stamp, a pen or the edge of the picture crosses it.", 0.5)
    assert (found["tested_on"]["value"], "unsure" in found["expires_on"]) == ("2026-03-25", False)


CROSSED_PAPER = "R -3.25 -1.00 x 170\nL -2.00\nDate of test: 25/03/2026   Valid until: 24 March 2028"

DOUBTS: dict[str, tuple[str, str, Any, Any]] = {
    "an axis of two figures by one of three": ("R -1.00 -0.50 x 090\nL -1.00 -0.50 x {}", "axis", ("75", "~75"), ("175", 175)),
    "one power in eighths": ("R -1.00 -0.50 x 90\nL {} -0.50 x 90", "sphere", ("-1.12", "~-1.12"), ("-1.25", -1.25)),
    "an acuity cut off": ("     Sph    VA\nR   -1.00  0.8\nL   -1.00  {}", "acuity", ("1", "~1"), ("1.0", "1.0")),
}  # fmt: skip


@pytest.mark.parametrize("name", DOUBTS)
def test_a_figure_unlike_the_others_is_marked(name: str) -> None:
    paper_, field, *ways = DOUBTS[name]
    for figure, expected in ways:
        found = read(paper_.format(figure))
        assert values(found["left"])[field] == expected
        assert "~" not in str(values(found["right"]))


def test_eighths_among_eighths_are_no_cause_for_doubt() -> None:
    found = read("R -1.12 -0.50 x 90\nL -1.37 -0.50 x 90")
    assert (values(found["right"])["sphere"], values(found["left"])["sphere"]) == (-1.12, -1.37)


def test_a_date_that_nothing_names_is_marked_and_one_hardly_readable_left_out() -> None:
    found = read("25/03/2026\nR -1.00")["tested_on"]
    assert (found["value"], found["unsure"]) == (
        "2026-03-25",
        "Nothing beside this date says what it is the date of.",
    )
    for confidence, value in ((0.51, "2026-03-25"), (0.49, None)):
        words = [replace(word, confidence=confidence) for word in typed("Date of test: 25/03/2026")]
        assert document(read_paper(words), "")["tested_on"]["value"] == value


def test_a_hardly_readable_figure_is_marked_and_one_that_is_not_is_left_out() -> None:
    def sphere(confidence: float) -> dict[str, Any]:
        words = [replace(word, confidence=confidence if word.text == "-3.25" else 1.0) for word in typed("R -3.25")]
        field: dict[str, Any] = document(read_paper(words), "")["right"]["sphere"]
        return field

    assert (sphere(0.81)["value"], "unsure" in sphere(0.81)) == (-3.25, False)
    assert (sphere(0.79)["value"], "unsure" in sphere(0.79)) == (-3.25, True)
    assert (sphere(0.51)["value"], sphere(0.49)["value"], sphere(0.49)["text"]) == (-3.25, None, "-3.25")


def _without(lost: str, text: str) -> str:
    return {"sign": text.lstrip("+-"), "point": text.replace(".", "")}.get(lost, text)


STEPS = st.integers(-80, 80).map(lambda quarters: quarters / 4)


@settings(max_examples=60, deadline=None)
@given(st.data(), STEPS, st.integers(1, 24), st.integers(1, 180), st.randoms(use_true_random=False))
def test_a_figure_is_read_as_printed_or_not_at_all(
    data: st.DataObject, sphere: float, cylinder: int, axis: int, rng: random.Random
) -> None:
    """In whatever order the words come, and whichever sign or point is lost."""
    text = f"   Sph     Cyl     Axis\nR  {sphere:+.2f}  {-cylinder / 4:+.2f}  {axis}\nL  +1.00  -0.50  90"
    words = typed(text)
    rng.shuffle(words)
    lost = data.draw(st.sampled_from(["nothing", "sign", "point"]))
    mine = next(word for word in words if word.text == f"{sphere:+.2f}" and word.box[1] == 80)
    words[words.index(mine)] = replace(mine, text=_without(lost, mine.text))
    found = document(read_paper(words), "")
    assert values(found["left"]) == {"sphere": 1.0, "cylinder": -0.5, "axis": 90}
    field = found["right"]["sphere"]
    assert field["value"] in (sphere, None)
    if lost == "nothing":
        assert (field["value"], "unsure" in field) == (sphere, False)
    elif sphere:
        assert "unsure" in field
        assert lost == "point" or field["value"] is None
    assert found["right"]["cylinder"]["value"] == -cylinder / 4


@settings(max_examples=80, deadline=None)
@given(st.lists(st.tuples(st.text(max_size=9), st.integers(0, 900), st.integers(0, 400)), max_size=30))
def test_no_words_whatever_break_the_reader(found: list[tuple[str, int, int]]) -> None:
    words = [Word(text, (x, y, 11 * len(text) + 1, 20)) for text, x, y in found]
    document(read_paper(words), "")
