"""What a row means in words, and how two lenses differ as a patient would say it."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import parse_order
from orders.options.lenses.comparison import LensRow, compare
from orders.options.lenses.differences import ALIKE, differences
from orders.options.lenses.meaning import (
    bodies_of,
    meaning,
    promise_words,
    protection_words,
    thickest,
    worst_fringe,
)
from orders.rules.examples import HERE

ORDER: dict[str, Any] = json.loads((HERE / "order.json").read_text(encoding="utf-8"))
CATALOGUE: dict[str, Any] = json.loads((HERE / "catalogue.json").read_text(encoding="utf-8"))


def rows(sphere: float = -5.0, **materials: dict[str, Any]) -> tuple[LensRow, ...]:
    order = json.loads(json.dumps(ORDER))
    for eye in ("right", "left"):
        order["prescription"][eye].update(sphere=sphere, cylinder=None, axis=None)
    catalogue = json.loads(json.dumps(CATALOGUE))
    for material in catalogue["materials"]:
        material.update(materials.get(material["id"], {}))
    catalogue["prices"] = [
        {"material": "m150", "amount": 80, "currency": "EUR"},
        {"material": "m160", "amount": 120.5, "currency": "EUR"},
    ]
    return compare(parse_order(json.dumps(order)), [parse_catalogue(json.dumps(catalogue))])


def of(found: tuple[LensRow, ...], material: str, design: str = "progressive") -> LensRow:
    return next(row for row in found if (row.offer.design.id, row.offer.material.id) == (design, material))


def test_a_minus_lens_is_thickest_at_the_temple_and_a_plus_lens_in_the_middle() -> None:
    minus, plus = of(rows(-5.0), "m160"), of(rows(5.0), "m160")
    place = thickest(minus)
    assert place is not None
    assert "temple" in place.where
    assert place.mm == max(minus.computed.right.edge_max_mm or 0.0, minus.computed.left.edge_max_mm or 0.0)
    assert meaning(minus).thickest == f"up to {place.mm:.1f} mm {place.where} ({place.eye} lens)"
    middle = thickest(plus)
    assert middle is not None
    assert (middle.where, middle.corner) == ("in the middle", None)
    assert middle.mm == max(plus.computed.right.centre_thickness_mm or 0, plus.computed.left.centre_thickness_mm or 0)


def test_the_difference_is_that_of_the_figures_at_the_same_place() -> None:
    found = rows(-6.0)
    thick, thin = of(found, "m150"), of(found, "m160")
    place = thickest(thick)
    assert place is not None
    assert place.corner is not None
    apart = place.mm - bodies_of(thin)[place.eye].edge_mm[place.corner]
    grams = (thick.weight_pair_g or 0.0) - (thin.weight_pair_g or 0.0)
    assert apart > 0.5
    said = differences(thin, thick)
    assert said[0] == f"{round(apart, 1):g} mm thinner {place.where}"
    assert f"{grams:.0f} g lighter" in said
    assert said[-1] == "81.00 EUR more"
    assert differences(thick, thin)[0].split(" mm ")[1].startswith("thicker")
    assert differences(thick, thin)[-1] == "81.00 EUR less"


def test_lenses_alike_in_all_that_is_seen_say_so() -> None:
    row = of(rows(), "m160")
    assert differences(row, row) == (ALIKE,)


def test_what_is_not_known_is_not_called_alike() -> None:
    found = rows(-5.0, m160={"density_g_cm3": None})
    assert differences(of(found, "m160"), of(found, "m150"))[:2] == ("thickness not known", "weight not known")
    assert meaning(of(found, "m160")).thickest == ""


@pytest.mark.parametrize(("abbe", "seen"), [(75.1, "will hardly be seen"), (74.9, "may be seen")])
def test_a_colour_fringe_is_seen_from_a_tenth_of_a_prism_dioptre(abbe: float, seen: str) -> None:
    """−5 D at 15 mm is 7.5 Δ; over an Abbe number of 75, 0.1 Δ."""
    row = of(rows(-5.0, m160={"abbe": abbe}), "m160", "single")
    assert worst_fringe(row.case) == pytest.approx(7.5 / abbe)
    assert meaning(row).fringe == f"a colour fringe {seen} to the side (0.1 Δ at 15 mm from the middle)"


def test_the_difference_in_fringe_is_said_where_only_one_of_them_is_seen() -> None:
    found = rows(-5.0, m160={"abbe": 30.0}, m150={"abbe": 90.0})
    assert "more colour at the edges of things" in differences(of(found, "m160"), of(found, "m150"))
    assert "less colour at the edges of things" in differences(of(found, "m150"), of(found, "m160"))
    assert meaning(of(rows(m160={"abbe": None}), "m160")).fringe == ""


def test_reflection_is_fresnels_of_both_surfaces_and_a_coating_is_said() -> None:
    """Index 1.6: 5.3 % a surface, 10.1 % a lens."""
    row = of(rows(), "m160")
    assert row.offer.material.index == 1.6
    assert row.offer.treatments == ("ar",)
    assert meaning(row).reflection == "with anti-reflection; uncoated it would reflect 10 % of the light"
    bare = parse_order(json.dumps(ORDER | {"lenses": {eye: {"treatments": []} for eye in ("right", "left")}}))
    uncoated = of(compare(bare, [parse_catalogue(json.dumps(CATALOGUE))]), "m160")
    assert meaning(uncoated).reflection == "reflects 10 % of the light"


def test_protection_is_what_the_catalogue_says_and_silence_where_it_does_not() -> None:
    found = rows(-5.0, m160={"impact_resistant": True}, m150={"impact_resistant": False})
    assert meaning(of(found, "m160")).protection == "impact-resistant"
    assert "not impact-resistant" in differences(of(found, "m150"), of(found, "m160"))
    silent = of(rows(m160={"impact_resistant": None}), "m160")
    assert meaning(silent).protection == ""
    assert protection_words(silent) == "the catalogue does not say whether it resists impact"
    assert protection_words(of(found, "m150")) == "not impact-resistant"


def test_the_promise_is_the_first_working_day_that_is_usual() -> None:
    """Ordered on a Wednesday: three working days later is Monday, seven is Friday of the next week."""
    assert ORDER["ordered_on"] == "2026-11-25"
    assert meaning(of(rows(), "m160", "single")).promise == date(2026, 11, 30)
    assert meaning(of(rows(), "m160")).promise == date(2026, 12, 4)
    said = "earliest usual day 30 November 2026: single vision lenses take 3 working days"
    assert promise_words(of(rows(), "m160", "single").case) == said


TREATED = {"id": "ar", "name": "Coat", "kind": "antireflection", "materials": [], "excludes": []}
NOT_SAID = "the catalogue does not say how much light it lets through"


@pytest.mark.parametrize(
    ("treatment", "treatments", "light"),
    [
        (TREATED, [], "clear: lets 90 % of the light through"),
        (TREATED, ["ar"], NOT_SAID),
        ({**TREATED, "kind": "hard"}, ["ar"], "clear: lets 90 % of the light through"),
        ({**TREATED, "kind": "tint"}, ["ar"], NOT_SAID),
        ({**TREATED, "kind": "tint", "luminous_transmittance": 0.18}, ["ar"], "lets 18 % of the light through"),
    ],
)
def test_the_light_is_as_stated_or_what_a_clear_lens_leaves_and_otherwise_said_not_to_be_known(
    treatment: dict[str, Any], treatments: list[str], light: str
) -> None:
    """Index 1.6: an uncoated lens reflects 10.1 %."""
    order = parse_order(json.dumps(ORDER | {"lenses": {eye: {"treatments": treatments} for eye in ("right", "left")}}))
    found = compare(order, [parse_catalogue(json.dumps({**CATALOGUE, "treatments": [treatment]}))])
    assert meaning(of(found, "m160")).light == light
