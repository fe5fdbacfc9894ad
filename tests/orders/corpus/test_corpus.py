"""The order check on made-up orders as practices write them: clean ones pass, slips are caught if any data can tell.

This is a small share of the corpus, so that it can run with every change; ``python -m tests.benchmarks.bench_corpus``
runs all of it and prints the table.
"""

from __future__ import annotations

import json

import pytest

from orders.documents.lens_order import parse_order
from tests.known import there
from tests.orders.corpus.clean_orders import CleanOrder, clean_orders
from tests.orders.corpus.every_slip import SLIPS
from tests.orders.corpus.trial import Trial, table, trial

ORDERS, WITH_SLIPS = 400, 60
SEED = 1

CLASSES = {
    "add",
    "PD",
    "axis",
    "sign",
    "frame data",
    "tint",
    "eyes",
    "decimal",
    "cylinder form",
    "height",
    "wrong frame",
    "use",
    "basis",
    "PD of the wrong distance",
    "near for far",
}


@pytest.fixture(scope="module")
def tried() -> Trial:
    return trial(SEED, ORDERS, WITH_SLIPS)


@pytest.fixture(scope="module")
def orders() -> list[CleanOrder]:
    return list(clean_orders(SEED, 400))


def test_at_most_one_clean_order_in_a_hundred_is_stopped(tried: Trial) -> None:
    assert tried.falsely_stopped <= 0.01 * tried.orders, table(tried)


def test_a_clean_order_is_asked_about_less_than_once_in_two(tried: Trial) -> None:
    assert tried.asks <= 0.5 * tried.orders, table(tried)


def test_of_the_slips_that_data_can_tell_nearly_all_are_caught_at_their_field(tried: Trial) -> None:
    assert tried.all_slips.share_telling >= 0.98, table(tried)


@pytest.mark.parametrize("family", sorted(CLASSES))
def test_each_class_of_slip_is_injected_and_caught_where_data_can_tell(tried: Trial, family: str) -> None:
    tally = tried.family(family)
    assert tally.injected > 0
    assert tally.share_telling >= 0.94, table(tried)


def test_a_slip_that_leaves_an_impossible_order_stops_it(tried: Trial) -> None:
    for slip in (("add", "missing in one eye"), ("PD", "missing"), ("frame data", "a box figure missing")):
        tally = tried.tallies[slip]
        assert tally.stopped == tally.injected > 0, slip


def test_every_class_of_the_survey_has_its_slips() -> None:
    assert {slip.family for slip in SLIPS} == CLASSES


def test_the_same_seed_makes_the_same_orders() -> None:
    first, second = ([order.document for order in clean_orders(7, 5)] for _ in range(2))
    assert first == second
    assert first != [order.document for order in clean_orders(8, 5)]


def test_the_orders_are_of_many_kinds_as_a_practice_writes_them(orders: list[CleanOrder]) -> None:
    parsed = [parse_order(json.dumps(order.document)) for order in orders]
    kinds = {there(order.catalogue.design(order.document["lenses"]["right"]["design"])).kind for order in orders}
    assert kinds == {"single_vision", "bifocal", "progressive", "office"}
    with_previous = sum(order.previous_prescription is not None for order in parsed) / len(parsed)
    assert 0.6 < with_previous < 0.8
    assert {order.supply for order in parsed} == {"fitted", "edged", "uncut"}
    assert len({order.frame.model for order in parsed}) > 20
    assert min(order.wearer.age for order in orders) < 16 < 70 < max(order.wearer.age for order in orders)
    spheres = [there(order.prescription.right.sphere) for order in parsed]
    assert min(spheres) < -5.0 < 3.0 < max(spheres)
