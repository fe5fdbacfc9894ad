"""Two senders killed with kill -9 at random: each order is taken once, none is lost, none is stuck.

In large, by hand: ``python -m tests.benchmarks.bench_sending``.
"""

from __future__ import annotations

import pytest

from tests.orders.sending.killing import run

pytestmark = pytest.mark.django_db(transaction=True)


def test_posted_orders_are_each_taken_once_and_nobody_has_to_ask() -> None:
    found = run(orders=24, kills=3, way="https")
    assert (len(found.taken), found.twice, found.lost, found.stuck) == (24, 0, 0, 0)
    assert (found.states, found.for_a_person, found.kills) == ({"sent": 24}, 0, 3)


def test_mailed_orders_are_never_mailed_twice_and_what_nobody_knows_waits_for_a_person() -> None:
    found = run(orders=24, kills=3, way="email")
    assert (found.twice, found.lost, found.stuck) == (0, 0, 0)
    assert found.states.get("sent", 0) + found.for_a_person == 24
    assert found.for_a_person <= found.kills * 2
