"""What cannot be in a catalogue, and what is asked about: on both sides of each bound, with the place named."""

from __future__ import annotations

import copy
import json
from datetime import date
from typing import Any

import pytest

from dispensing.trade.catalogue_figures import CatalogueFigure, catalogue_figures
from orders.catalogues.doubts import Doubt, doubts_in
from orders.catalogues.faults import faults_in
from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from tests.orders import shop

SEGMENT = {"shape": "d", "width_mm": 28.0, "depth_mm": 19.0, "inset_mm": 2.0, "below_centre_mm": 3.0}
PRICE = {"design": "sv", "material": "m160", "treatment": "ar", "amount": 80.0, "currency": "EUR"}


def values(**changes: Any) -> dict[str, Any]:
    """The shop's catalogue with a segment, a second material that stays as it is, and a price."""
    given = copy.deepcopy(shop.CATALOGUE)
    given["materials"].append({**given["materials"][0], "id": "m150", "name": "1.50", "index": 1.5})
    given["designs"][1]["segment"] = dict(SEGMENT)
    given["treatments"][0]["luminous_transmittance"] = 0.9
    given["prices"] = [dict(PRICE)]
    return given | changes


def read(given: dict[str, Any]) -> LensCatalogue:
    return parse_catalogue(json.dumps(given))


def faults(given: dict[str, Any]) -> list[str]:
    return [str(fault) for fault in faults_in(read(given))]


def test_nothing_is_said_of_a_catalogue_like_others() -> None:
    assert faults(values()) == []
    assert doubts_in(read(values()), date(2026, 10, 1)) == ()


def with_figure(figure: CatalogueFigure, value: float) -> tuple[dict[str, Any], str]:
    """The catalogue with this value of the figure in the part that has it, and the path where it stands."""
    given = values()
    kind, _, inner = figure.of.partition(".")
    place = 1 if kind == "designs" else 0
    part, path = given[kind][place], f"$.{kind}[{place}]"
    if inner == "segment":
        part, path = part[inner], f"{path}.{inner}"
    elif inner:
        part, path = part[inner][0], f"{path}.{inner}[0]"
    if figure.key == "min_edge_mm":
        part, path, key = part["min_edge_mm"], f"{path}.min_edge_mm", "drilled"
        part[key] = value
        return given, f"{path}.{key}"
    if figure.key in ("sphere", "add"):
        low = value <= sum(figure.usual) / 2
        part[figure.key] = [value, figure.usual[1]] if low else [figure.usual[0], value]
        return given, f"{path}.{figure.key}[{0 if low else 1}]"
    if figure.key in ("from_d", "to_d"):
        part["from_d"] = part["to_d"] = 0.0
        part["from_d"], part["to_d"] = (value, max(value, 0.0)) if figure.key == "from_d" else (min(value, 0.0), value)
    part[figure.key] = value
    return given, f"{path}.{figure.key}"


BOUNDED = [
    (figure, side)
    for figure in catalogue_figures()
    for side in (0, 1)
    if figure.possible[side] not in (float("inf"), float("-inf"))
]


@pytest.mark.parametrize(("figure", "side"), BOUNDED, ids=lambda one: getattr(one, "key", str(one)))
def test_a_figure_is_refused_just_beyond_what_is_possible_and_not_on_it(figure: CatalogueFigure, side: int) -> None:
    on = figure.possible[side]
    given, path = with_figure(figure, on)
    assert [fault for fault in faults(given) if fault.startswith(f"{path}:")] == []
    # A transmittance above 1 is taken as one in per cent.
    beyond = 100.01 if (figure.key, side) == ("luminous_transmittance", 1) else on + (0.01 if side else -0.01)
    given, path = with_figure(figure, beyond)
    told = [fault for fault in faults(given) if fault.startswith(f"{path}:")]
    assert len(told) == 1
    assert figure.words in told[0].lower() or figure.words in told[0]
    assert f"it can be {figure.within(figure.possible)}" in told[0]


ASKED = [(figure, side) for figure, side in BOUNDED if figure.usual[side] != figure.possible[side]]


@pytest.mark.parametrize(("figure", "side"), ASKED, ids=lambda one: getattr(one, "key", str(one)))
def test_a_figure_is_asked_about_just_beyond_what_is_usual_and_not_on_it(figure: CatalogueFigure, side: int) -> None:
    on = figure.usual[side]
    given, path = with_figure(figure, on)
    assert [doubt for doubt in doubts_in(read(given)) if doubt.path == path] == []
    given, path = with_figure(figure, on + (0.005 if side else -0.005))
    assert faults(given) == []
    asked = [doubt for doubt in doubts_in(read(given)) if doubt.path == path]
    assert [doubt.says.endswith(f"usual is {figure.within(figure.usual)}.") for doubt in asked] == [True]


def test_the_doubt_names_the_part_and_leaves_the_one_beside_it() -> None:
    given = values()
    given["materials"][0]["density_g_cm3"] = 4.5
    assert doubts_in(read(given)) == (
        Doubt(
            "$.materials[0].density_g_cm3",
            "Density of the material “1.60” is 4.5 g/cm³; usual is 1 to 4.1 g/cm³.",
        ),
    )


SLIPS: list[tuple[str, dict[str, Any], str]] = [
    (
        "materials",
        {"index": 14.98},
        "$.materials[0].index: Refractive index of the material “1.60” is 14.98; it can be",
    ),
    ("materials", {"abbe": -4}, "$.materials[0].abbe: Abbe number of the material “1.60” is −4; it can be 15 to 100"),
    (
        "materials",
        {"min_centre_mm": 180},
        "$.materials[0].min_centre_mm: Minimum centre of the material “1.60” is 180 mm",
    ),
    ("materials", {"id": " "}, "$.materials[0].id: is empty; no order could name the material “1.60”"),
    ("designs", {"name": ""}, "$.designs[0].name: is empty; nobody could choose this design"),
    (
        "designs",
        {"cylinder_max": -2.0},
        "$.designs[0].cylinder_max: Greatest cylinder of the design “Single vision” is −2 D",
    ),
    ("designs", {"sphere": [4.0, -4.0]}, "$.designs[0].sphere: runs from 4 to −4; the smaller figure comes first"),
    (
        "designs",
        {"base_curves": [{"from_d": 2.0, "to_d": -2.0, "curve_d": 4.0}]},
        "$.designs[0].base_curves[0]: runs from 2 to −2",
    ),
    ("prices", {"amount": -1.0}, "$.prices[0].amount: Price of the price in row 1 is −1"),
    ("prices", {"currency": "eur"}, "$.prices[0].currency: must be three capital letters"),
    ("prices", {"currency": None}, "$.prices[0].currency: must be three capital letters"),
    ("prices", {"material": "m999"}, '$.prices[0].material: there is no material "m999" in this catalogue'),
]


@pytest.mark.parametrize(("kind", "changes", "fault"), SLIPS, ids=[fault.split(" ")[0] for _, _, fault in SLIPS])
def test_what_makes_no_sense_is_refused_with_its_place(kind: str, changes: dict[str, Any], fault: str) -> None:
    given = values()
    given[kind][0] |= changes
    told = [one for one in faults(given) if one.startswith(fault)]
    assert len(told) == 1


@pytest.mark.parametrize("kind", ["designs", "materials"])
def test_a_catalogue_from_which_nothing_can_be_ordered_is_refused(kind: str) -> None:
    told = faults(values(**{kind: []}))
    assert f"$.{kind}: is empty, so that no lens could be ordered from this catalogue" in told


@pytest.mark.parametrize("kind", ["materials", "designs", "treatments"])
def test_a_code_used_twice_is_refused(kind: str) -> None:
    given = values()
    given[kind].append(dict(given[kind][0]))
    place = len(given[kind]) - 1
    told = [fault for fault in faults(given) if "appears twice" in fault]
    assert [fault.split(":")[0] for fault in told] == [f"$.{kind}[{place}].id"]


def test_two_prices_for_the_same_lens_are_refused_and_one_for_another_is_not() -> None:
    twice = values(prices=[PRICE, {**PRICE, "amount": 90.0}])
    assert faults(twice) == ["$.prices[1]: is a second price for the same design, material and treatment"]
    assert faults(values(prices=[PRICE, {**PRICE, "treatment": None, "amount": 60.0}])) == []


def test_an_issue_date_is_asked_about_only_before_that_of_the_one_in_use() -> None:
    catalogue = read(values(issued_on="2026-11-01"))
    assert doubts_in(catalogue, date(2026, 11, 1)) == ()
    assert doubts_in(catalogue) == ()
    says = "It was issued on 1 Nov 2026, before the one in use, which is of 2 Nov 2026."
    assert doubts_in(catalogue, date(2026, 11, 2)) == (Doubt("$.issued_on", says),)


def test_two_materials_that_read_alike_are_asked_about() -> None:
    given = values()
    given["materials"][1]["name"] = "1.60 "
    says = "Two materials are called “1.60”: m160 and m150. Nobody could tell them apart."
    assert doubts_in(read(given)) == (Doubt("$.materials[1].name", says),)
