"""Any order that can be read can be checked: absurd figures, missing parts and unknown names give a report."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orders.documents.lens_order import parse_order
from orders.rules import check
from orders.rules.command import line
from orders.rules.examples import clean_order, example_catalogue

CATALOGUE = example_catalogue()
CLEAN: dict[str, Any] = json.loads(clean_order().model_dump_json(exclude_unset=True))

FIGURES = st.one_of(
    st.none(),
    st.sampled_from([0.0, -0.0, 1e-300, 1e308, -1e308, 180.0, -180.0, 90.5, 35.0, 1e6, 1e12]),
    st.floats(allow_nan=False, allow_infinity=False),
    st.floats(min_value=-40.0, max_value=80.0),
)
NAMES = st.sampled_from(
    [None, "", "single", "bifocal", "trifocal", "office", "progressive", "nonesuch", "m150", "mineral", "tough"]
)
WORDS = {
    "base": ["in", "out", "up", "down"],
    "mount": ["full_rim", "grooved", "drilled"],
    "use": ["distance", "intermediate", "near", "distance_and_near"],
    "source": ["own", "trace_only"],
    "purpose": ["new", "remake"],
    "supply": ["uncut", "edged", "fitted"],
    "instruction": ["balance", "occluder", "frosted"],
}
DATES = st.one_of(st.none(), st.dates().map(lambda day: day.isoformat()))
SHAPES = st.one_of(
    st.none(),
    st.fixed_dictionaries(
        {
            "side": st.sampled_from(["right", "left"]),
            "radii_mm": st.lists(FIGURES.filter(lambda r: r is not None), max_size=80),
        }
    ),
)
TREATMENTS = st.lists(st.sampled_from(["ar", "hard", "tint-dark", "photo", "mirror", "unknown"]), max_size=4)
PRISMS = st.lists(
    st.fixed_dictionaries({"amount": FIGURES, "base": st.sampled_from([*WORDS["base"], None])}), max_size=3
)
LENS_KEYS = {"design": NAMES, "material": NAMES, "treatments": TREATMENTS, "corridor_mm": FIGURES, "blank_mm": FIGURES}
LENS = st.fixed_dictionaries(
    LENS_KEYS,
    optional={
        "base_curve_d": FIGURES,
        "centre_thickness_mm": FIGURES,
        "colour": st.sampled_from(["", "brown 75 %"]),
        "instruction": st.sampled_from(WORDS["instruction"]),
    },
)


def paths(value: Any, here: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    if not isinstance(value, dict):
        return [here]
    return [path for key, inner in value.items() for path in paths(inner, (*here, key))]


PATHS = [path for path in paths(CLEAN) if path[0] != "format"]


def values_for(path: tuple[str, ...]) -> st.SearchStrategy[Any]:
    """Anything that the format takes at this place."""
    key = path[-1]
    special = {
        "prism": PRISMS,
        "treatments": TREATMENTS,
        "shape": SHAPES,
        "readings": st.integers(),
        "revision": st.integers(),
    }
    if key in special:
        return special[key]
    if key in WORDS and path[:1] != ("prescription",) and path[:1] != ("previous_prescription",):
        return st.sampled_from([None, *WORDS[key]])
    if key == "use":
        return st.sampled_from([None, *WORDS["use"]])
    if key.endswith("_on"):
        return DATES
    if key in ("driver", "protected", "signed", "measured_in_this_frame", "pre_adjusted", "other_pair"):
        return st.sampled_from([None, True, False])
    if key in ("design", "material"):
        return NAMES
    numeric = key.endswith(("_mm", "_d", "_deg")) or key in ("sphere", "cylinder", "axis", "add")
    return FIGURES if numeric else st.one_of(st.none(), st.text(max_size=20))


@st.composite
def orders(draw: st.DrawFn) -> dict[str, Any]:
    document = copy.deepcopy(CLEAN)
    for path in draw(st.lists(st.sampled_from(PATHS), max_size=25, unique=True)):
        target = document
        for step in path[:-1]:
            target = target[step]
        target[path[-1]] = draw(values_for(path))
    for eye in ("right", "left"):
        if draw(st.integers(0, 3)) == 0:
            document["lenses"][eye] = draw(st.one_of(st.none(), LENS))
    if draw(st.booleans()):
        document["previous_prescription"] = draw(st.one_of(st.none(), st.just(document["prescription"])))
    return document


@settings(max_examples=400)
@given(orders(), orders())
def test_any_order_that_can_be_read_gets_a_report(document: dict[str, Any], other: dict[str, Any]) -> None:
    order = parse_order(json.dumps(document))

    report = check(order, CATALOGUE, others=[parse_order(json.dumps(other))])

    assert report.number == order.number
    # json without NaN or Infinity, which no reader of the report would take
    json.loads(line(report), parse_constant=lambda name: (_ for _ in ()).throw(AssertionError(name)))


@settings(max_examples=100)
@given(orders())
def test_a_finding_is_about_an_eye_that_has_a_lens_or_about_the_prescription(document: dict[str, Any]) -> None:
    order = parse_order(json.dumps(document))

    for finding in check(order, CATALOGUE).findings:
        if finding.eye in ("right", "left") and finding.eye not in order.ordered_eyes:
            assert (finding.field or "").startswith("prescription.")


ABSURD: dict[str, tuple[str, Any]] = {
    "a blank without end": ("lenses.right.blank_mm", 1e26),
    "a PD without end": ("fitting.right.pd_mm", 1e308),
    "a sphere whose double has no number": ("prescription.left.sphere", 1e308),
    "a negative axis in plus cylinder": ("prescription.right", {"sphere": -2.0, "cylinder": 0.75, "axis": -1}),
    "an axis of three hundred digits": ("prescription.right", {"sphere": -2.0, "cylinder": 0.75, "axis": 1e300}),
    "radii of next to nothing": ("frame.shape", {"side": "right", "radii_mm": [1e-300] * 40}),
    "a test at the end of the calendar": ("prescription.tested_on", "9999-12-31"),
}


@pytest.mark.parametrize("absurd", ABSURD.values(), ids=ABSURD.keys())
def test_a_figure_beyond_all_sense_gets_a_report(absurd: tuple[str, Any]) -> None:
    document = copy.deepcopy(CLEAN)
    document["previous_prescription"]["left"]["sphere"] = -1e308
    path, value = absurd
    *parents, last = path.split(".")
    target = document
    for step in parents:
        target = target[step]
    target[last] = value

    assert check(parse_order(json.dumps(document)), CATALOGUE).verdict == "stop"
