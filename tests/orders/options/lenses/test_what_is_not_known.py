"""A catalogue or an order that lacks something: the row says what is not known and why, and nothing is zero."""

from __future__ import annotations

import json
from typing import Any

import pytest

from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import parse_order
from orders.options.lenses.comparison import LensRow, compare, not_offered
from orders.options.lenses.ranking import ranked
from orders.rules.examples import HERE

CATALOGUE: dict[str, Any] = json.loads((HERE / "catalogue.json").read_text(encoding="utf-8"))
ORDER: dict[str, Any] = json.loads((HERE / "order.json").read_text(encoding="utf-8"))
PRICE = ("price", None, "The catalogue gives no price for it.")


def rows(catalogue: dict[str, Any], order: dict[str, Any] = ORDER) -> tuple[LensRow, ...]:
    return compare(parse_order(json.dumps(order)), [parse_catalogue(json.dumps(catalogue))])


def changed(document: dict[str, Any], path: str, value: Any) -> dict[str, Any]:
    copied: dict[str, Any] = json.loads(json.dumps(document))
    *steps, last = path.split(".")
    part: Any = copied
    for step in steps:
        part = part[int(step)] if step.isdigit() else part[step]
    part[int(last) if last.isdigit() else last] = value
    return copied


def of(found: tuple[LensRow, ...], design: str, material: str) -> LensRow:
    return next(row for row in found if (row.offer.design.id, row.offer.material.id) == (design, material))


def said(row: LensRow) -> list[tuple[str, str | None, str]]:
    return [(one.figure, one.eye, one.why) for one in row.unknown]


def place(name: str, id: str) -> str:
    return f"{name}.{[part['id'] for part in CATALOGUE[name]].index(id)}"


def test_a_complete_row_lacks_only_the_price() -> None:
    assert said(of(rows(CATALOGUE), "progressive", "m160")) == [PRICE]


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("density_g_cm3", "density"),
        ("min_centre_mm", "minimum centre thickness"),
        ("min_edge_mm", "minimum edge for this mount"),
    ],
)
def test_a_material_without_thickness_or_density_leaves_its_own_rows_without_a_body(key: str, words: str) -> None:
    found = rows(changed(CATALOGUE, f"{place('materials', 'm160')}.{key}", None))
    row, other = of(found, "progressive", "m160"), of(found, "progressive", "m150")
    why = f"The catalogue gives no {words} for {row.offer.material.name}."
    assert said(row) == [
        ("thickness, edge and weight", "right", why),
        ("thickness, edge and weight", "left", why),
        PRICE,
    ]
    assert (row.weight_pair_g, row.computed.right.edge_max_mm) == (None, None)
    assert row.computed.right.blank_needed_mm is not None
    assert other.weight_pair_g is not None


def test_a_design_without_blanks_says_so_and_is_still_weighed() -> None:
    row = of(rows(changed(CATALOGUE, f"{place('designs', 'progressive')}.blanks", [])), "progressive", "m160")
    why = f"The catalogue lists no blanks of {row.offer.design.name}."
    assert said(row) == [("blank", "right", why), ("blank", "left", why), PRICE]
    assert (row.offer.blank_mm, row.weight_pair_g is None) == (None, False)


@pytest.mark.parametrize(
    ("path", "why"),
    [
        ("fitting.right.pd_mm", "A, DBL or the PD is missing."),
        ("fitting.right.height_mm", "The fitting height is missing."),
        ("prescription.right.sphere", "The power is not complete, or no lens has it."),
    ],
)
def test_what_the_order_lacks_is_said_of_that_eye_only(path: str, why: str) -> None:
    row = of(rows(CATALOGUE, changed(ORDER, path, None)), "progressive", "m160")
    assert {(eye, reason) for figure, eye, reason in said(row) if figure.startswith("thickness")} == {("right", why)}
    assert row.computed.left.weight_g is not None
    assert row.weight_pair_g is None


def test_a_frame_without_sizes_leaves_thickness_and_blank_unknown() -> None:
    order = changed(changed(changed(ORDER, "frame.a_mm", None), "frame.b_mm", None), "frame.shape", None)
    row = of(rows(CATALOGUE, order), "progressive", "m160")
    why = "The shape of the frame is not known: neither a trace, nor A and B."
    assert {(figure, reason) for figure, _, reason in said(row) if figure != "price"} == {
        ("thickness, edge and weight", why),
        ("blank", why),
    }


def test_a_lens_that_cannot_be_worked_out_says_what_the_geometry_says() -> None:
    row = of(rows(CATALOGUE, changed(ORDER, "prescription.right.sphere", -58.0)), "progressive", "m160")
    whys = [reason for figure, eye, reason in said(row) if (figure, eye) == ("thickness, edge and weight", "right")]
    assert len(whys) == 1
    assert "front" in whys[0] or "surface" in whys[0] or "thickness" in whys[0]
    assert row.computed.left.weight_g is not None


def test_unknown_figures_come_last_in_either_direction_and_are_no_tie() -> None:
    found = rows(changed(CATALOGUE, f"{place('materials', 'm160')}.density_g_cm3", None))
    for greatest_first in (False, True):
        order = ranked(found, "weight", greatest_first=greatest_first)
        known = [one.row.weight_pair_g for one in order if one.place is not None]
        unknown = [one for one in order if one.place is None]
        rounded = [round(value or 0.0, 1) for value in known]
        assert rounded == sorted(rounded, reverse=greatest_first)
        assert order[len(known) :] == tuple(unknown)
        assert {one.row.offer.material.id for one in unknown} == {"m160"}
        assert not any(one.is_tied for one in unknown)


def test_what_no_row_can_be_made_of_is_named() -> None:
    catalogue = parse_catalogue(json.dumps(changed(CATALOGUE, "designs.0.materials", ["m150", "m199"])))
    assert not_offered(catalogue) == (
        f"{catalogue.designs[0].name} is listed in the material “m199”, which the catalogue does not have.",
    )
    empty = parse_catalogue(json.dumps({**CATALOGUE, "designs": []}))
    assert not_offered(empty) == ("The catalogue has no designs.",)
    bare = parse_catalogue(
        json.dumps({**CATALOGUE, "materials": [], "designs": [{**CATALOGUE["designs"][0], "materials": []}]})
    )
    assert not_offered(bare) == ("The catalogue has no materials.",)
    assert not_offered(parse_catalogue(json.dumps(CATALOGUE))) == ()
