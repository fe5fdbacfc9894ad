"""The check goes on catching as many orders that a dispenser would question, and asks no more about clean ones.

These tests also check that each row means what the trial reads in it: a field of the format, a rule that exists, an
order of its own.
"""

from __future__ import annotations

import tomllib
import types
import typing
from dataclasses import replace
from pathlib import Path

import pytest
from pydantic import BaseModel

from orders.documents.lens_order import LensOrder, Lifted
from orders.documents.order_report import FindingPart
from orders.rules.registry import SEVERITY, all_rules
from tests.orders.bad_orders.orders import HELD_OUT, HERE, Written, bad_orders, both_eyes, changed, clean_orders
from tests.orders.bad_orders.trial import Tried, asks_each, share, table, tried

LEAST_CAUGHT = 0.98
"""Just under the share of today; whoever raises the share raises this."""

MOST_ASKS = 0.17
"""Asks a clean order, an eye each: just over today's. The aim was 0.3; whoever lowers the figure lowers this."""

STOPPED_IN_VAIN: frozenset[str] = frozenset()
"""Clean orders that the check stops, and should not: none. Nothing may be added."""


@pytest.fixture(scope="module")
def bad() -> list[Tried]:
    return tried(bad_orders())


@pytest.fixture(scope="module")
def clean() -> list[Tried]:
    return tried(clean_orders())


def test_the_share_caught_does_not_fall(bad: list[Tried]) -> None:
    escaped = [f"{result.written.theme}: {result.written.id}" for result in bad if not result.caught]
    assert share(bad) >= LEAST_CAUGHT, "\n".join(escaped)


def test_clean_orders_are_asked_little(clean: list[Tried]) -> None:
    asked = [f"{result.written.id}: {part.rule}" for result in clean for part in result.asks]
    assert asks_each(clean) <= MOST_ASKS, "\n".join(asked)


def test_no_other_clean_order_is_stopped(clean: list[Tried]) -> None:
    assert {result.written.id for result in clean if result.stops} <= STOPPED_IN_VAIN


def test_the_table_has_every_order_once(bad: list[Tried], clean: list[Tried]) -> None:
    caught = sum(result.caught for result in bad)
    asks = sum(len(result.asks) for result in clean)
    *rows, last = [[cell.strip() for cell in line.strip("|").split("|")] for line in table(bad, clean).splitlines()[2:]]
    assert last[1:] == [str(len(bad)), f"{caught} ({100 * caught / len(bad):.0f} %)", str(len(clean)), str(asks)]
    for column in (1, 3, 4):
        assert sum(int(row[column]) for row in rows) == int(last[column])


WANTED = Written(
    id="a row of the test's own",
    theme="none",
    order=LensOrder(format="lens-order/1"),
    beside=(),
    says="",
    speaks_of=("fitting.*.pd_mm",),
    level="ask",
)


def _found(**changes: typing.Any) -> FindingPart:
    facts = {"rule": "pd-range", "level": "ask", "message": "", "field": "fitting.left.pd_mm"}
    return FindingPart(**(facts | changes))


@pytest.mark.parametrize(
    ("finding", "caught"),
    [
        (_found(), True),
        (_found(field="fitting.right.pd_mm", level="stop"), True),
        (_found(level="note"), False),
        (_found(field="fitting.left.near_pd_mm"), False),
        (_found(field=None), False),
    ],
)
def test_caught_is_the_field_and_the_level(finding: FindingPart, caught: bool) -> None:
    assert Tried(WANTED, (finding,)).caught is caught


def test_a_finding_judged_by_hand_counts_as_judged(monkeypatch: pytest.MonkeyPatch) -> None:
    by_hand = {"counts": {(WANTED.id, "pd-sum")}, "does_not_count": {(WANTED.id, "pd-range")}}
    monkeypatch.setattr("tests.orders.bad_orders.trial.judged", lambda how: by_hand[how])
    assert Tried(WANTED, (_found(rule="pd-sum", field=None),)).caught
    assert not Tried(WANTED, (_found(rule="near-pd", field=None),)).caught
    assert not Tried(WANTED, (_found(rule="pd-range"),)).caught
    assert Tried(replace(WANTED, id="another"), (_found(rule="pd-range"),)).caught


def test_what_was_lifted_is_not_caught() -> None:
    row = next(one for one in bad_orders() if one.id == "nine-year-old who drives")
    [open_] = tried([row])
    answers = tuple(Lifted(rule=one.rule, eye=one.eye, reason="Asked", by="T. D.") for one in open_.findings)
    [result] = tried([replace(row, order=row.order.model_copy(update={"lifted": answers}))])
    assert open_.caught
    assert not result.caught
    assert result.findings == ()


def test_a_star_stands_for_both_eyes_and_the_base_stays() -> None:
    base = {"fitting": {"right": {"pd_mm": 31.0}, "left": {"pd_mm": 32.0}, "readings": 2}}
    done = changed(base, {"fitting.*.pd_mm": 30.0}, ["fitting.readings"])
    assert done == {"fitting": {"right": {"pd_mm": 30.0}, "left": {"pd_mm": 30.0}, "readings": None}}
    assert base == {"fitting": {"right": {"pd_mm": 31.0}, "left": {"pd_mm": 32.0}, "readings": 2}}


def test_every_row_is_one_of_its_own() -> None:
    ids = [one.id for one in (*_all_bad(), *clean_orders(), *clean_orders(HELD_OUT))]
    assert len(ids) == len(set(ids))
    assert len(bad_orders()) >= 150
    assert len(clean_orders()) >= 60
    for folder in (HERE, HELD_OUT):
        assert {one.theme for one in clean_orders(folder)} <= {one.theme for one in bad_orders(folder)}


def test_every_bad_order_says_what_it_is_about() -> None:
    for one in _all_bad():
        assert all((one.says, one.speaks_of, one.level in SEVERITY)), one.id
        wrong = [path for name in one.speaks_of for path in both_eyes(name) if not _is_a_field(LensOrder, path)]
        assert not wrong, (one.id, wrong)


@pytest.mark.parametrize("folder", [HERE, HELD_OUT], ids=lambda folder: folder.name)
def test_what_was_judged_by_hand_exists(folder: Path) -> None:
    rules, ids = {rule.id for rule in all_rules()}, {one.id for one in bad_orders(folder)}
    rows = tomllib.loads((folder / "judged.toml").read_text(encoding="utf-8"))
    for row in (*rows["counts"], *rows["does_not_count"]):
        assert all((row["order"] in ids, row["rule"] in rules, row["why"])), row


def _all_bad() -> tuple[Written, ...]:
    return (*bad_orders(), *bad_orders(HELD_OUT))


def _is_a_field(model: type[BaseModel], path: str) -> bool:
    """Whether the format has this key; a number in the path picks from a list."""
    step, _, rest = path.partition(".")
    if step.isdigit():
        return _is_a_field(model, rest)
    if step not in model.model_fields:
        return False
    part = _part_of(model.model_fields[step].annotation)
    return not rest or (part is not None and _is_a_field(part, rest))


def _part_of(kind: typing.Any) -> type[BaseModel] | None:
    """The object inside an optional one or a list of them."""
    if isinstance(kind, type) and not isinstance(kind, types.GenericAlias):
        return kind if issubclass(kind, BaseModel) else None
    return next((part for part in map(_part_of, typing.get_args(kind)) if part is not None), None)
