"""A base curve that neither the order nor the catalogue gives is shown everywhere with the rule that it comes from."""

from __future__ import annotations

from typing import Any

import pytest

from orders.documents.canonical import canonical_bytes
from orders.documents.lens_order import LensOrder, parse_order
from orders.documents.order_report import OrderReport
from orders.presentation.documents import computed_rows
from orders.printing.content.tables import BASE_CURVE, Table, tables
from orders.rules import check
from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, order

STRONG: dict[str, Any] = {"prescription__right__sphere": 12.0, "prescription__right__cylinder": None}


def judged(**changes: Any) -> tuple[LensOrder, OrderReport]:
    document = parse_order(canonical_bytes(order(**changes)))
    return document, check(document, CATALOGUE_DOCUMENT)


def on_the_desk(report: OrderReport) -> tuple[str, str]:
    row = next(row for row in computed_rows(report) if row["label"] == "Base curve (1.530)")
    return row["right"], row["left"]


def on_paper(**changes: Any) -> tuple[Table, list[str]]:
    table = next(table for table in tables(*judged(**changes)) if table.title.startswith("Worked out"))
    column = table.head.index(BASE_CURVE)
    return table, [row[column] for row in table.rows]


def test_beyond_the_table_the_desk_names_vogels_rule_for_that_eye_alone() -> None:
    _, report = judged(**STRONG)
    right, left = on_the_desk(report)
    assert right == "18.00 D by Vogel's rule"
    assert left.endswith(" D")


def test_beyond_the_table_the_paper_names_it_and_says_that_it_is_a_guess() -> None:
    table, (right, left) = on_paper(**STRONG)
    assert right == "18.00 D by Vogel's rule"
    assert left.endswith(" D")
    assert table.note.endswith("A base curve by Vogel's rule is a guess: the catalogue has none for this power.")


@pytest.mark.parametrize("ordered", [None, 6.0])
def test_a_curve_from_the_table_or_the_order_is_shown_as_it_is(ordered: float | None) -> None:
    table, curves = on_paper(lenses__right__base_curve_d=ordered)
    assert on_the_desk(judged(lenses__right__base_curve_d=ordered)[1]) == tuple(curves)
    assert not any("rule" in curve for curve in curves)
    assert "Vogel" not in table.note


def test_a_wrap_stopped_for_a_curve_by_rule_says_so() -> None:
    _, report = judged(**STRONG, frame__front_curve_d=8.0)
    (left,) = [finding for finding in report.findings if finding.rule == "wrap-base"]
    assert left.eye == "left"
    assert "Vogel" not in left.message
    weak = {"prescription__right__sphere": -11.0, "prescription__right__cylinder": None}
    _, report = judged(**weak, frame__front_curve_d=8.0)
    right, _ = [finding for finding in report.findings if finding.rule == "wrap-base"]
    assert right.eye == "right"
    assert "0.50 D by Vogel's rule, as the catalogue has no curve for this power; at least 7.00 D" in right.message
