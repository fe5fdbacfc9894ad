"""What one order tells the figures, at the edges: months, clocks, faults found late, revisions, withdrawals."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from orders.figures.counts import counts_of, groups, in_all
from orders.figures.story import Again, Frozen, Happened, Told, told_of
from tests.known import there

SENT = ("sent", "2026-01-31")


def frozen(revision: int = 1, *, findings: Any = (), **order: Any) -> Frozen:
    text = {"lab": {"name": "Lantern Yard"}, "frame": {"mount": "drilled"}, "needed_on": "2026-02-10", **order}
    parts = [{"rule": rule, "level": level, "confirmed_by": by, "message": ""} for rule, level, by in findings]
    return Frozen(revision, json.dumps(text), json.dumps({"findings": parts}))


def told(*happened: Any, documents: Any = None, found: Any = None, again: Again | None = None) -> Told:
    """``happened``: kind, day and, for a later revision, its number."""
    events = [Happened(rest[0] if rest else 1, kind, date.fromisoformat(on), "7") for kind, on, *rest in happened]
    return there(told_of(events, documents or [frozen()], found or {}, again))


def test_an_order_belongs_to_the_month_in_which_it_was_first_sent() -> None:
    one = told(SENT, ("superseded", "2026-02-01"), ("sent", "2026-02-01", 2), ("passed", "2026-02-09", 2),
               documents=[frozen(), frozen(2, lab={"name": "Quay Street Lab"})])  # fmt: skip
    assert (one.month, one.days, one.on_time, one.lab) == ("2026-01", 9, True, "Quay Street Lab")


@pytest.mark.parametrize(
    ("ready", "days", "on_time"), [("2026-01-31", 0, True), ("2026-02-10", 10, True), ("2026-02-11", 11, False)]
)
def test_a_pair_is_on_time_until_the_day_that_it_was_needed(ready: str, days: int, on_time: bool) -> None:
    one = told(SENT, ("passed", ready))
    assert (one.days, one.on_time, one.clock_back) == (days, on_time, False)


def test_a_clock_set_back_gives_no_time_and_is_told() -> None:
    one = told(SENT, ("passed", "2026-01-30"))
    assert (one.days, one.on_time, one.clock_back) == (None, None, True)
    counted = in_all(counts_of(one))
    assert (counted["sent"], counted["clock back"], counted["ready"], counted["due"]) == (1, 1, 0, 0)


def test_a_pair_is_ready_when_it_was_last_found_in_order() -> None:
    again = told(SENT, ("passed", "2026-02-05"), ("returned", "2026-02-06"), ("conceded", "2026-02-14"))
    assert (again.days, again.on_time) == (14, False)
    assert told(SENT, ("passed", "2026-02-05"), ("our mistake", "2026-02-06")).days is None
    assert told(SENT, documents=[frozen(needed_on=None)]).on_time is None
    assert told(SENT, ("passed", "2026-02-05"), documents=[frozen(needed_on=None)]).on_time is None


def test_an_order_that_never_left_tells_nothing_and_one_withdrawn_has_no_time() -> None:
    assert told_of([Happened(1, "cancelled", date(2026, 1, 1))], [], {}, None) is None
    one = told(SENT, ("passed", "2026-02-05"), ("cancelled", "2026-02-06"), again=Again("axis", "lab"))
    assert (one.withdrawn, one.days, one.cause) == (True, None, "")
    counted = in_all(counts_of(one))
    assert (counted["sent"], counted["withdrawn"], counted["pairs"], counted["remade"]) == (1, 1, 0, 0)


def test_the_check_counts_by_the_worst_that_any_revision_was_sent_with() -> None:
    noted = told(SENT, documents=[frozen(findings=[("edge-thick", "note", None)])])
    asked = told(SENT, documents=[frozen(findings=[("pd-range", "ask", "Dana Okafor")])])
    eyes = [("blank-size", "stop", "Dana Okafor"), ("blank-size", "stop", "Dana Okafor")]
    stopped = told(SENT, ("superseded", "2026-02-01"), ("sent", "2026-02-01", 2),
                   documents=[frozen(findings=eyes), frozen(2)])  # fmt: skip
    assert (noted.check, asked.check, stopped.check) == ("clear", "asked", "stopped")
    assert (asked.lifted, stopped.lifted) == ((), (("blank-size", "Dana Okafor"),))


def test_what_stood_on_a_draft_and_is_gone_was_caught_once_by_its_worst() -> None:
    first = [("pd-range", "ask"), ("pd-range", "stop"), ("blank-size", "stop"), ("large-change", "ask")]
    found = {1: first, 2: [("edge-thick", "ask")]}
    one = told(SENT, documents=[frozen(findings=[("blank-size", "stop", "Dana Okafor")])], found=found)
    assert one.caught == (("large-change", "ask"), ("pd-range", "stop"))


def test_a_remake_of_a_remake_counts_for_the_pair_it_began_with_only_once() -> None:
    first = told(SENT, again=Again("axis", "lab"))
    remake = told(SENT, documents=[frozen(purpose="remake")], again=Again("flaw", "lab"))
    assert [in_all(counts_of(one))["remade"] for one in (first, remake)] == [1, 0]
    assert [in_all(counts_of(one))["pairs"] for one in (first, remake)] == [1, 0]
    assert [in_all(counts_of(one))["again"] for one in (first, remake)] == [0, 1]
    assert counts_of(first)["cause", "axis of lab", "remade"] == 1


@pytest.mark.parametrize(("cause", "mistake"), [("axis", 1), ("wear", 0), ("changed mind", 0), ("not said", 0)])
def test_what_is_nobodys_mistake_is_counted_as_remade_and_not_as_a_mistake(cause: str, mistake: int) -> None:
    counted = groups(counts_of(told(SENT, again=Again(cause, "lab"))), "lab")["Lantern Yard"]
    assert (counted["remade"], counted["mistakes"]) == (1, mistake)


def test_what_is_kept_reads_back_as_it_was() -> None:
    one = told(
        SENT, ("query", "2026-02-01"), documents=[frozen(findings=[("a", "stop", "Dana")])], found={1: [("b", "ask")]}
    )
    assert Told.from_json(json.loads(json.dumps(one.as_json()))) == one
    assert (one.queries, one.dispenser, one.mount, one.design) == (1, "7", "drilled", "Not known")
