"""Which lenses a catalogue offers, and which treatments go on them."""

from __future__ import annotations

import json
from typing import Any

from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.documents.lens_order import LensOrder
from orders.options.lenses.offers import Offer, offers, wanted_treatments
from orders.rules.examples import clean_order, example_catalogue

MATERIAL: dict[str, Any] = {"name": "", "index": 1.5}


def catalogue(lab: str = "Test Lab", **changes: Any) -> LensCatalogue:
    document: dict[str, Any] = {
        "format": "lens-catalogue/1",
        "lab": lab,
        "materials": [{**MATERIAL, "id": "soft"}, {**MATERIAL, "id": "hard"}],
        "designs": [
            {
                "id": "one",
                "name": "One",
                "kind": "progressive",
                "materials": ["soft", "hard"],
                "corridors": [{"length_mm": 14}, {"length_mm": 11}],
                "blanks": [{"diameter_mm": 75}, {"diameter_mm": 65}, {"diameter_mm": 65, "centre_in_mm": 2.5}],
            },
            {"id": "two", "name": "Two", "kind": "single_vision"},
        ],
        "treatments": [
            {"id": "ar", "name": "AR", "kind": "antireflection", "materials": ["soft"], "excludes": ["mirror"]},
            {"id": "ar-hard", "name": "AR on hard", "kind": "antireflection", "materials": ["hard"]},
            {"id": "ar-best", "name": "Best AR", "kind": "antireflection", "materials": ["hard"]},
            {"id": "mirror", "name": "Mirror", "kind": "mirror"},
            {"id": "blue", "name": "Blue mirror", "kind": "mirror", "excludes": ["ar-best"]},
        ],
        **changes,
    }
    return parse_catalogue(json.dumps(document))


def order(*treatments: str, lab: str = "Test Lab") -> LensOrder:
    base = clean_order()
    assert base.lenses.right is not None
    lens = base.lenses.right.model_copy(update={"treatments": treatments})
    lenses = base.lenses.model_copy(update={"right": lens, "left": lens})
    return base.model_copy(update={"lenses": lenses, "lab": base.lab.model_copy(update={"name": lab})})


def offered(catalogue: LensCatalogue, *treatments: str, beside: tuple[LensCatalogue, ...] = ()) -> list[Offer]:
    return list(offers(catalogue, wanted_treatments(order(*treatments), [*beside, catalogue])))


def coats(found: list[Offer], design: str, material: str) -> set[tuple[str, ...]]:
    return {offer.treatments for offer in found if (offer.design.id, offer.material.id) == (design, material)}


def test_every_design_comes_in_each_of_its_materials_corridors_and_blanks_once() -> None:
    found = [(o.design.id, o.material.id, o.corridor_mm, o.blank_mm) for o in offered(catalogue())]
    assert found == [
        *(
            ("one", material, corridor, blank)
            for material in ("soft", "hard")
            for corridor in (14, 11)
            for blank in (65, 75)
        ),
        ("two", "soft", None, None),
        ("two", "hard", None, None),
    ]


def test_a_treatment_stays_where_the_material_takes_it_and_gives_way_to_each_of_its_kind_elsewhere() -> None:
    found = offered(catalogue(), "ar")
    assert coats(found, "one", "soft") == {("ar",)}
    assert coats(found, "one", "hard") == {("ar-hard",), ("ar-best",)}
    assert all(offer.left_out == () for offer in found)


def test_treatments_that_exclude_each_other_are_never_offered_together_and_what_is_left_out_is_said() -> None:
    found = offered(catalogue(), "ar", "mirror")
    assert coats(found, "one", "soft") == {("ar",)}
    assert {offer.left_out for offer in found if offer.material.id == "soft"} == {("mirror",)}
    assert coats(found, "one", "hard") == {("ar-hard", "mirror"), ("ar-best", "mirror")}


def test_another_labs_treatment_is_known_by_its_kind_from_its_own_catalogue() -> None:
    other = catalogue("Other Lab", treatments=[{"id": "x9", "name": "Clear", "kind": "antireflection"}])
    found = offered(other, "ar", beside=(catalogue(),))
    assert {offer.treatments for offer in found} == {("x9",)}
    alone = offered(other, "ar")
    assert {(offer.treatments, offer.left_out) for offer in alone} == {((), ("ar",))}


def test_a_design_without_materials_listed_comes_in_all_and_unknown_ones_make_no_row() -> None:
    designs = [{"id": "a", "name": "A", "kind": "single_vision", "materials": ["soft", "nowhere", "soft"]}]
    assert [o.material.id for o in offered(catalogue(designs=designs))] == ["soft"]
    assert {o.material.id for o in offered(catalogue()) if o.design.id == "two"} == {"soft", "hard"}


def test_the_examples_own_treatment_stays_wherever_it_can() -> None:
    found = list(offers(example_catalogue(), wanted_treatments(clean_order(), [example_catalogue()])))
    ar = example_catalogue().treatment("ar")
    assert ar is not None
    for offer in found:
        assert ("ar" in offer.treatments) is (offer.material.id in ar.materials)
