"""The index question: asked where a higher index would show at the edge, not for every strong lens."""

from __future__ import annotations

from typing import Any

from orders.documents.order_report import FindingPart
from orders.rules import check
from orders.rules.examples import example_catalogue
from tests.orders.rules.test_computed import order_with

LARGE = {"frame__a_mm": 60.0, "frame__b_mm": 46.0, "frame__ed_mm": 64.0}
STRONG = {"prescription__right__sphere": -6.0, "prescription__right__cylinder": None, "prescription__right__axis": None}


def asked(**changes: Any) -> list[FindingPart]:
    report = check(order_with(**changes), example_catalogue())
    return [part for part in report.findings if part.rule == "index-for-power" and part.eye == "right"]


def test_between_5_and_7_dioptres_one_index_is_quiet_in_a_small_frame() -> None:
    report = check(order_with(**STRONG), example_catalogue())

    assert {part.rule for part in report.findings if part.eye == "right"}.isdisjoint({"index-for-power", "low-abbe"})


def test_in_a_large_frame_the_same_lens_is_asked_about_with_what_a_higher_index_saves() -> None:
    (part,) = asked(**STRONG, **LARGE)

    thick = check(order_with(**STRONG, **LARGE), example_catalogue()).computed.right.edge_max_mm
    in_167 = order_with(**STRONG, **LARGE, lenses__right__material="m167")
    thin = check(in_167, example_catalogue()).computed.right.edge_max_mm
    assert thick is not None
    assert thin is not None
    assert f"up to {thick:.3g} mm thick, in 1.67 up to {thin:.2g} mm" in part.says
    assert part.advice == "Offer a higher index, or confirm."


def test_a_kind_of_lens_that_comes_in_no_higher_index_is_not_asked_about() -> None:
    catalogue = example_catalogue()
    only = tuple(one.model_copy(update={"materials": ("m150",)}) for one in catalogue.designs)
    report = check(order_with(**STRONG, lenses__right__material="m150"), catalogue.model_copy(update={"designs": only}))

    assert [part for part in report.findings if part.rule == "index-for-power"] == []
