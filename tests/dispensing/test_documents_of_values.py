"""A document made from values is judged as strictly as one parsed from text, and in the same words."""

from __future__ import annotations

import json
from typing import Any

import pytest

from dispensing.documents import InvalidDocument, of_values
from orders.documents.lens_order import FORMAT, LensOrder, OrderedLens, parse_order


def nested(levels: int) -> Any:
    value: Any = 1
    for _ in range(levels):
        value = [value]
    return value


def order(**sections: Any) -> dict[str, Any]:
    return {"format": FORMAT, **sections}


# Levels around ``extra`` are four: the order, its lenses, the lens, the extra itself.
DEEPEST_EXTRA = 196
GOOD = {
    "empty": order(),
    "whole numbers": order(revision=1.0, lenses={"right": {"blank_mm": 70, "corridor_mm": 14.5}}),
    "lists and nulls": order(
        lenses={"right": {"treatments": ["ar"]}, "left": {"treatments": None}},
        kept_lens={"treatments": ["hard"]},
        lifted=[{"rule": "blank-size", "by": "Dana"}],
        prescription={"right": {"prism": [{"amount": 1, "base": "in"}]}, "left": None},
        fitting=None,
        frame={"shape": {"side": "right", "radii_mm": [26, None, 26.5]}},
    ),
    "a day": order(needed_on="2026-12-04"),
    "extra": order(lenses={"left": {"extra": {"a": [1, {"b": "ü"}]}}}),
    "as deep as can be": order(lenses={"right": {"extra": {"a": nested(DEEPEST_EXTRA)}}}),
}
BAD = {
    "an unknown key": order(lenses={"right": {"desing": "sv"}}),
    "a text for a figure": order(lenses={"right": {"blank_mm": "70"}}),
    "a truth for a figure": order(lenses={"right": {"blank_mm": True}}),
    "a figure for a text": order(remarks=5),
    "an unknown word": order(supply="boxed"),
    "a list for an object": order(lenses=[]),
    "an object for a list": order(lenses={"right": {"treatments": {"ar": 1}}}),
    "a figure in a list of texts": order(lenses={"right": {"treatments": ["ar", 1]}}),
    "no such day": order(needed_on="2026-02-30"),
    "a day with a time": order(needed_on="2026-12-04T00:00:00"),
    "half a revision": order(revision=1.5),
    "several faults": order(supply="boxed", lenses={"right": {"desing": "sv", "blank_mm": "70"}}),
}


@pytest.mark.parametrize("values", GOOD.values(), ids=GOOD)
def test_what_can_be_parsed_can_be_made_of_its_values(values: Any) -> None:
    made = of_values(LensOrder, values)
    parsed = parse_order(json.dumps(values))
    assert made == parsed
    assert made.model_dump(mode="json", exclude_unset=True) == parsed.model_dump(mode="json", exclude_unset=True)


@pytest.mark.parametrize("values", BAD.values(), ids=BAD)
def test_what_cannot_be_parsed_has_the_same_faults(values: Any) -> None:
    with pytest.raises(InvalidDocument) as of_text:
        parse_order(json.dumps(values))
    with pytest.raises(InvalidDocument) as of_its_values:
        of_values(LensOrder, values)
    assert [str(fault) for fault in of_its_values.value.faults] == [str(fault) for fault in of_text.value.faults]


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"extra": {"a": nested(DEEPEST_EXTRA + 3)}}, "nested too deeply"),
        ({"extra": {"a": "\ud800"}}, "half a character"),
        ({"extra": {"\udfff": 1}}, "half a character"),
        ({"colour": "grey \udc00"}, "half a character"),
        ({"blank_mm": float("nan")}, "must be a finite number"),
        ({"blank_mm": float("inf")}, "must be a finite number"),
    ],
    ids=["too deep", "half a character", "in a key", "in a text of ours", "not a number", "infinite"],
)
def test_what_no_text_could_say_is_refused(values: dict[str, Any], said: str) -> None:
    with pytest.raises(InvalidDocument, match=said):
        of_values(OrderedLens, values)


def test_one_level_less_is_taken() -> None:
    assert of_values(OrderedLens, {"extra": {"a": nested(DEEPEST_EXTRA + 2)}}).extra is not None
