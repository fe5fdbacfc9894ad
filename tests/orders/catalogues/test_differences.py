"""What is new, gone and changed between two catalogues, in words; and which lenses that touches."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest

from orders.catalogues.differences import Change, differences, touches
from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from tests.orders import shop

Edit = Callable[[dict[str, Any]], Any]


def read(values: dict[str, Any]) -> LensCatalogue:
    return parse_catalogue(json.dumps(values))


def start() -> dict[str, Any]:
    given = copy.deepcopy(shop.CATALOGUE)
    given["materials"].append({**copy.deepcopy(given["materials"][0]), "id": "m150", "name": "1.50"})
    given["prices"] = [{"design": "sv", "material": "m160", "amount": 80.0, "currency": "EUR"}]
    return given


def told(edit: Edit) -> tuple[Change, ...]:
    """What an edited catalogue changes against the one before it."""
    after = start()
    edit(after)
    return differences(read(after), read(start()))


def test_the_same_catalogue_with_another_date_changes_nothing() -> None:
    assert told(lambda given: given.update(issued_on="2026-12-24")) == ()


EDITS: list[tuple[Edit, list[tuple[str, str, str, str]]]] = [
    (
        lambda c: c["materials"][0].update(min_centre_mm=1.2),
        [("changed", "limit", "1.60", "minimum centre: 1.5 mm, now 1.2 mm")],
    ),
    (
        lambda c: c["materials"][0].update(index=1.61),
        [("changed", "material", "1.60", "refractive index: 1.6, now 1.61")],
    ),
    (
        lambda c: c["materials"][0].update(abbe=None),
        [("changed", "material", "1.60", "Abbe number: 41, now not stated")],
    ),
    (
        lambda c: c["materials"][0]["min_edge_mm"].update(drilled=2.2),
        [("changed", "limit", "1.60", "minimum edge, drilled (rimless): 2 mm, now 2.2 mm")],
    ),
    (
        lambda c: c["materials"][0].update(drillable=False),
        [("changed", "material", "1.60", "may be drilled: yes, now no")],
    ),
    (lambda c: c["materials"].pop(1), [("gone", "material", "1.50", "")]),
    (lambda c: c["materials"].append({"id": "m167", "name": "1.67", "index": 1.67}), [("new", "material", "1.67", "")]),
    (lambda c: c["designs"].pop(1), [("gone", "design", "Progressive", "")]),
    (
        lambda c: c["designs"][0].update(sphere=[-8.0, 8.0]),
        [("changed", "limit", "Single vision", "sphere: −10 to 8 D, now −8 to 8 D")],
    ),
    (
        lambda c: c["designs"][0].update(cylinder_max=4.0),
        [("changed", "limit", "Single vision", "greatest cylinder: 6 D, now 4 D")],
    ),
    (lambda c: c["designs"][0]["blanks"].pop(0), [("gone", "blank", "Single vision", "blank 65 mm")]),
    (
        lambda c: c["designs"][0]["blanks"].append({"diameter_mm": 75, "centre_in_mm": 2.5}),
        [("new", "blank", "Single vision", "blank 75 mm, centre 2.5 mm in")],
    ),
    (lambda c: c["designs"][0]["materials"].append("m150"), [("new", "material", "Single vision", "in 1.50")]),
    (
        lambda c: c["designs"][1]["corridors"][0].update(min_height_mm=19),
        [("changed", "limit", "Progressive", "corridor 14 mm: from a height of 18 mm, now from a height of 19 mm")],
    ),
    (
        lambda c: c["designs"][1]["corridors"].append({"length_mm": 11}),
        [("new", "limit", "Progressive", "corridor 11 mm: no minimum height")],
    ),
    (
        lambda c: c["designs"][1].update(needs=["vertex", "pantoscopic"]),
        [("changed", "design", "Progressive", "needs: no figures as worn, now vertex distance and pantoscopic tilt")],
    ),
    (
        lambda c: c["designs"][0]["base_curves"][0].update(curve_d=5.0),
        [("changed", "design", "Single vision", "base curve from −10 to 8 D: 4 D, now 5 D")],
    ),
    (
        lambda c: c["treatments"][0].update(name="Clear coat"),
        [("changed", "treatment", "Clear coat", "name: Anti-reflection, now Clear coat")],
    ),
    (lambda c: c["treatments"].clear(), [("gone", "treatment", "Anti-reflection", "")]),
    (
        lambda c: c["prices"][0].update(amount=84.5),
        [("changed", "price", "Single vision, 1.60", "80.00 EUR, now 84.50 EUR")],
    ),
    (lambda c: c["prices"].append({"amount": 60.0, "currency": "EUR"}), [("new", "price", "Every lens", "60.00 EUR")]),
    (lambda c: c["prices"].clear(), [("gone", "price", "Single vision, 1.60", "80.00 EUR")]),
]


@pytest.mark.parametrize(("edit", "changes"), EDITS, ids=[" ".join(rows[0]) for _, rows in EDITS])
def test_each_difference_is_told_once_in_words(edit: Edit, changes: list[tuple[str, ...]]) -> None:
    assert [(one.how, one.about, one.name, one.says) for one in told(edit)] == changes


def test_a_material_that_only_gets_another_name_is_not_told_of_each_design() -> None:
    changes = told(lambda given: given["materials"][0].update(name="Plastic 1.60"))
    assert [(one.about, one.says) for one in changes] == [("material", "name: 1.60, now Plastic 1.60")]


def test_what_is_gone_comes_before_what_changed_and_that_before_what_is_new() -> None:
    def edit(given: dict[str, Any]) -> None:
        given["treatments"].append({"id": "hard", "name": "Hard coat", "kind": "hard"})
        given["designs"][0]["cylinder_max"] = 4.0
        given["materials"].pop(1)

    assert [one.how for one in told(edit)] == ["gone", "changed", "new"]


SV, PROG = {"design": "sv", "material": "m160", "treatments": ["ar"]}, {"design": "prog", "material": "m150"}
TOUCHED: list[tuple[Edit, tuple[bool, bool]]] = [
    (lambda c: c["designs"][0].update(cylinder_max=4.0), (True, False)),
    (lambda c: c["materials"][1].update(abbe=58), (False, True)),
    (lambda c: c["treatments"][0].update(name="Clear coat"), (True, False)),
    (lambda c: c["designs"][0]["blanks"].append({"diameter_mm": 80}), (False, False)),
    (lambda c: c["prices"][0].update(amount=90.0), (False, False)),
]


@pytest.mark.parametrize(("edit", "wanted"), TOUCHED, ids=["design", "material", "treatment", "new", "price"])
def test_a_lens_is_touched_by_what_changes_in_its_own_parts(edit: Edit, wanted: tuple[bool, bool]) -> None:
    changes = told(edit)
    assert changes
    assert tuple(any(touches(change, lens) for change in changes) for lens in (SV, PROG)) == wanted
