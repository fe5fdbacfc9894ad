"""What a revision replaces: every value that a lab works by and that differs, each once, and nothing else."""

from __future__ import annotations

from typing import Any

import pytest

from orders.documents.canonical import canonical_bytes, plain, sha256_hex
from orders.documents.lens_order import parse_order
from orders.documents.replacing import replaces
from tests.orders.orders_on_paper import LENS_NAMES, PROGRESSIVE, order, traced

FIRST = canonical_bytes(order())
SV = {"design": "sv", "material": "m160", "blank_mm": 65, "treatments": ["ar"], "extra": LENS_NAMES}


def changes(first: bytes = FIRST, **later: Any) -> list[tuple[str, Any, Any]]:
    found = replaces(first, order(**later))
    return [(change.field, change.before, change.after) for change in found.changes]


def test_it_names_the_revision_and_the_exact_text_that_it_replaces() -> None:
    found = replaces(FIRST, order(revision=2))
    assert (found.revision, found.sha256, found.changes) == (1, sha256_hex(FIRST), ())


@pytest.mark.parametrize(
    ("later", "told"),
    [
        ({"fitting__left__pd_mm": 32.0}, [("fitting.left.pd_mm", 32.5, 32.0)]),
        ({"prescription__right__axis": 175}, [("prescription.right.axis", 170, 175)]),
        ({"frame__a_mm": 51.0, "frame__b_mm": 41.0}, [("frame.a_mm", 50, 51.0), ("frame.b_mm", 40, 41.0)]),
        ({"frame__extra": {"colour": "Plum"}}, [("frame.extra.colour", None, "Plum")]),
        ({"frame__shape": traced()}, [("frame.shape", None, {"side": "right", "radii_mm": "72 figures"})]),
        ({"needed_on": "2026-12-07"}, [("needed_on", "2026-12-04", "2026-12-07")]),
        ({"remarks": "Mind the hinge."}, [("remarks", "", "Mind the hinge.")]),
        ({"extra": {"priority": "urgent"}}, [("extra.priority", None, "urgent")]),
        ({"supply": "uncut"}, [("supply", "fitted", "uncut")]),
        ({"lab__name": "Other Lab"}, [("lab.name", "Quay Street Lab", "Other Lab")]),
        ({"lenses__left": {**SV, "treatments": []}}, [("lenses.left.treatments", ["ar"], [])]),
    ],
)
def test_one_value_changed_is_one_change(later: dict[str, Any], told: list[tuple[str, Any, Any]]) -> None:
    assert changes(**later) == told


@pytest.mark.parametrize(
    "later",
    [
        {"ordered_on": "2026-11-27"},
        {"patient__driver": False},
        {"prescription__right__acuity": "6/9"},
        {"prescription__prescriber": "Somebody else"},
        {"fitting__readings": 3},
        {"lifted": [{"rule": "decentration"}]},
        {"lenses__right__extra": {"design_name": "Called otherwise"}},
        {"fitting__left__pd_mm": 32.50},
        {"prescription__left__prism": [{"amount": 1, "base": "in"}, {"amount": 0.5, "base": "down"}]},
    ],
    ids=lambda later: next(iter(later)),
)
def test_what_a_lab_does_not_work_by_is_no_change(later: dict[str, Any]) -> None:
    assert changes(**later) == []


def test_a_lens_that_came_or_went_is_one_change_and_names_what_it_is() -> None:
    ((field, before, after),) = changes(lenses__left=None)
    assert (field, after) == ("lenses.left", None)
    assert before == {"design": "sv", "material": "m160", "blank_mm": 65, "treatments": ["ar"]}


def test_another_lens_is_told_by_code_with_both_names() -> None:
    names = {**LENS_NAMES, "design_name": "Progressive", "treatment_names": ["Soft coat"]}
    later = order(lenses__right={**PROGRESSIVE, "treatments": ["soft"], "extra": names})
    told = {change.field: change for change in replaces(FIRST, later).changes}
    design, treatments = told["lenses.right.design"], told["lenses.right.treatments"]
    assert (design.before, design.after) == ("sv", "prog")
    assert design.extra == {"from_name": "Single vision", "to_name": "Progressive"}
    assert treatments.extra == {"from_name": "Anti-reflection", "to_name": "Soft coat"}
    assert "lenses.right.material" not in told


def test_a_power_that_follows_the_prescription_is_told_once_and_one_that_does_not_is_told() -> None:
    def made(sphere: float) -> dict[str, Any]:
        return {**SV, "power": {"sphere": sphere, "cylinder": -1.0, "axis": 170, "prism": []}}

    first = canonical_bytes(order(lenses__right=made(-3.25)))
    follows = changes(first, prescription__right__sphere=-3.5, lenses__right=made(-3.5))
    assert follows == [("prescription.right.sphere", -3.25, -3.5)]
    carried = changes(first, lenses__right=made(-3.12))
    assert carried == [("lenses.right.power.sphere", -3.25, -3.12)]
    both = changes(first, prescription__right__sphere=-3.5, lenses__right=made(-3.37))
    assert [field for field, *_ in both] == ["prescription.right.sphere", "lenses.right.power.sphere"]


def test_it_is_written_and_read_by_the_names_of_the_format() -> None:
    later = order(revision=2, fitting__left__pd_mm=32.0)
    later = later.model_copy(update={"replaces": replaces(FIRST, later)})
    (change,) = plain(later)["replaces"]["changes"]
    assert change == {"field": "fitting.left.pd_mm", "from": 32.5, "to": 32.0}
    assert parse_order(canonical_bytes(later)).replaces == later.replaces
