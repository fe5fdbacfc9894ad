"""What the check catches of orders on which no rule was tuned: the figure that says whether it generalises.

Whoever wrote them had not read the rules. A rule may get better, and these figures with it; no rule is to be written or
moved for a single order of this set, or it shows no more than the other one does.
"""

from __future__ import annotations

import pytest

from tests.orders.bad_orders import __main__ as command
from tests.orders.bad_orders.orders import HELD_OUT, bad_orders, clean_orders
from tests.orders.bad_orders.trial import Tried, asks_each, judged, share, tried

LEAST_CAUGHT = 0.936
"""101 of 110. The first run said 103; by hand, two of those were found to say something else than was meant."""

MOST_ASKS = 0.52
"""Asks a clean order, an eye each: 26 of 50. The first run said 38, 3 of them the fault of two orders."""

STOPPED_IN_VAIN: frozenset[str] = frozenset()
"""Clean orders that the check stops, and should not: none."""


@pytest.fixture(scope="module")
def clean() -> list[Tried]:
    return tried(clean_orders(HELD_OUT))


def test_the_share_caught_does_not_fall() -> None:
    bad = tried(bad_orders(HELD_OUT))
    escaped = [f"{result.written.theme}: {result.written.id}" for result in bad if not result.caught]
    assert share(bad) >= LEAST_CAUGHT, "\n".join(escaped)


def test_clean_orders_are_asked_no_more(clean: list[Tried]) -> None:
    asked = [f"{result.written.id}: {part.rule}" for result in clean for part in result.asks]
    assert asks_each(clean) <= MOST_ASKS, "\n".join(asked)


def test_no_clean_order_is_stopped(clean: list[Tried]) -> None:
    assert {result.written.id for result in clean if result.stops} <= STOPPED_IN_VAIN


def test_the_set_is_whole() -> None:
    assert (len(bad_orders(HELD_OUT)), len(clean_orders(HELD_OUT))) == (110, 50)


def test_what_was_judged_of_both_sets_holds() -> None:
    orders = {order for order, _ in judged("does_not_count")}
    assert orders & {one.id for one in bad_orders()}
    assert orders & {one.id for one in bad_orders(HELD_OUT)}


@pytest.mark.parametrize(("words", "counted"), [([], 338), (["--held-out"], 110)])
def test_the_command_tries_the_set_asked_for(
    words: list[str], counted: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.argv", ["bad_orders", *words])
    monkeypatch.setattr(command, "tried", lambda orders: [Tried(one, ()) for one in orders])
    command.main()
    assert f"Caught: 0.0% of {counted}." in capsys.readouterr().out
