"""The figures against a second computation, in SQL by another database, over the same events, documents and reports.

``DATUMLINE_FIGURES_ORDERS=10000`` makes so many orders; the test itself makes a few hundred, over three years.
"""

from __future__ import annotations

import csv
import os
from collections import Counter
from pathlib import Path
from typing import Any

import duckdb
import pytest

from orders.figure_queries import counted_months
from orders.figures.counts import DAYS, Group, groups, in_all, together
from orders.models import DraftFinding, Order, OrderDocument, OrderEvent
from orders.services.counting import bring_up_to_date
from tests.orders.figures.years import Years

ORDERS = int(os.environ.get("DATUMLINE_FIGURES_ORDERS", "300"))

TABLES = {
    "orders": "pk bigint, number text, revision int, remake_of bigint, cause text, whose text, sent bool",
    "events": "pk bigint, order_pk bigint, kind text, moment timestamptz, actor bigint",
    "documents": "order_pk bigint, number text, revision int, text json, report json",
    "findings": "order_pk bigint, rule text, level text",
}

WRITTEN = (Path(__file__).parent / "told_elsewhere.sql").read_text()
VIEWS, MEASURES = WRITTEN.split("-- measures")


@pytest.fixture
def years(db: Any, request: pytest.FixtureRequest, settings: Any) -> str:
    settings.TIME_ZONE = request.param
    Years(seed=4711).make(ORDERS)
    bring_up_to_date()
    return str(request.param)


def elsewhere(zone: str, folder: Path) -> duckdb.DuckDBPyConnection:
    """The same rows in the other database."""
    there = duckdb.connect()
    orders = Order.objects.values_list(
        "pk", "number", "revision", "remake_of", "remake_cause", "remake_whose", "sent_at"
    )
    rows: dict[str, list[tuple[Any, ...]]] = {
        "orders": [(*row[:6], row[6] is not None) for row in orders],
        "events": [
            (pk, order, kind, at.isoformat(), actor)
            for pk, order, kind, at, actor in OrderEvent.objects.values_list("pk", "order", "kind", "at", "actor")
        ],
        "documents": list(OrderDocument.objects.values_list("order", "number", "revision", "text", "report")),
        "findings": list(DraftFinding.objects.values_list("order", "rule", "level")),
    }
    for name, columns in TABLES.items():
        there.execute(f"create table {name} ({columns})")
        kept = folder / f"{name}.csv"
        with kept.open("w", newline="") as file:
            csv.writer(file).writerows(rows[name])
        there.execute(f"copy {name} from '{kept}' (format csv, header false, nullstr '')")
    there.execute(VIEWS.replace("{zone}", zone))
    return there


ZONES = ("Europe/London", "Pacific/Auckland")


@pytest.mark.parametrize("years", ZONES, indirect=True)
def test_every_count_of_every_month_and_group_is_the_other_databases_too(years: str, tmp_path: Path) -> None:
    there, months = elsewhere(years, tmp_path), counted_months("0000-00", "9999-99")
    for by in ("'all'", "lab", "design", "dispenser", "mount"):
        asked = there.execute(f"select month, {by} as name, {MEASURES} from told group by all")
        names = [column[0] for column in asked.description or ()][2:]
        rows = asked.fetchall()
        assert {row[0] for row in rows} == set(months)
        for month, name, *values in rows:
            group = in_all(months[month]) if by == "'all'" else groups(months[month], by)[name]
            assert {measure: group[measure] for measure in names} == dict(zip(names, values, strict=True)), (
                month,
                name,
            )


@pytest.mark.parametrize("years", ZONES[:1], indirect=True)
def test_medians_and_ninetieth_centiles_of_any_period_are_exact(years: str, tmp_path: Path) -> None:
    there, months = elsewhere(years, tmp_path), sorted(counted_months("0000-00", "9999-99"))
    for first, last in ((months[0], months[-1]), (months[3], months[3]), (months[5], months[17])):
        ask = "select quantile_disc(days, 0.5), quantile_disc(days, 0.9), lab from told where days >= 0"
        rows = there.execute(f"{ask} and month between ? and ? group by lab", [first, last]).fetchall()
        found = groups(together(counted_months(first, last).values()), "lab")
        assert {name: (group.days_within(0.5), group.days_within(0.9)) for name, group in found.items()} == {
            lab: (median, ninetieth) for median, ninetieth, lab in rows
        }


@pytest.mark.parametrize("years", ZONES[:1], indirect=True)
def test_stops_lifted_what_was_caught_and_causes_are_the_other_databases_too(years: str, tmp_path: Path) -> None:
    there, counts = elsewhere(years, tmp_path), together(counted_months("0000-00", "9999-99").values())

    def of(by: str) -> Counter[tuple[str, str]]:
        return Counter({(name, measure): count for (kind, name, measure), count in counts.items() if kind == by})

    def asked(query: str) -> dict[tuple[str, str], int]:
        return {(name, measure): count for name, measure, count in there.execute(query).fetchall()}

    lifted = "select rule || ' by ' || by_whom, 'orders', count(distinct number) from said_of where level = 'stop'"
    assert of("lifted") == asked(f"{lifted} group by all")
    assert of("caught") == asked("select rule, level, count(*) from caught group by all")
    causes = "select cause || ' of ' || coalesce(whose, ''), 'remade', count(*) from told where cause is not null"
    assert of("cause") == asked(f"{causes} and stands and not remake group by all")


def test_days_are_counted_whole_and_nothing_has_no_median() -> None:
    group = Group({f"{DAYS}3": 4, f"{DAYS}10": 1, "ready": 5})
    assert (group.days_within(0.5), group.days_within(0.8), group.days_within(0.9)) == (3, 3, 10)
    assert Group({"sent": 2}).days_within(0.5) is None
