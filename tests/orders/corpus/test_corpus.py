"""The order check on made-up orders as practices write them: clean ones pass, slips are caught if any data can tell.

This is a small share of the corpus, so that it can run with every change; ``python -m tests.benchmarks.bench_corpus``
runs all of it and prints the table.
"""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from orders.documents.lens_order import parse_order
from orders.documents.names import USES
from tests.known import there
from tests.orders.corpus.clean_orders import CleanOrder, clean_orders
from tests.orders.corpus.every_slip import SLIPS
from tests.orders.corpus.one_slip import by_earlier
from tests.orders.corpus.trial import Trial, table, trial
from tests.orders.corpus.writing import EYES

ORDERS, WITH_SLIPS = 400, 60
SEED = 1

LEAST_CAUGHT, LEAST_CAUGHT_OF_TELLING = 0.95, 0.99
"""Just under today's shares of all slips, and of those that data can tell. The aims were 0.97 and 0.995."""

MOST_ASKS = 0.33
"""Asks a clean order, an eye each: a tenth over today's, because so small a sample varies. The aim was 0.3."""

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


def test_a_clean_order_is_asked_about_less_than_once_in_three(tried: Trial) -> None:
    assert tried.asks <= MOST_ASKS * tried.orders, table(tried)


def test_the_share_of_all_slips_that_are_caught_does_not_fall(tried: Trial) -> None:
    assert tried.all_slips.share >= LEAST_CAUGHT, table(tried)


def test_of_the_slips_that_data_can_tell_nearly_all_are_caught_at_their_field(tried: Trial) -> None:
    assert tried.all_slips.share_telling >= LEAST_CAUGHT_OF_TELLING, table(tried)


@pytest.mark.parametrize("family", sorted(CLASSES))
def test_each_class_of_slip_is_injected_and_caught_where_data_can_tell(tried: Trial, family: str) -> None:
    tally = tried.family(family)
    assert tally.injected > 0
    assert tally.share_telling >= 0.94, table(tried)


def test_a_slip_that_leaves_an_impossible_order_stops_it(tried: Trial) -> None:
    height = ("height", "missing in a lens that is placed by it")
    for slip in (height, ("PD", "missing"), ("frame data", "a box figure missing")):
        tally = tried.tallies[slip]
        assert tally.stopped == tally.telling > 0, slip


def test_pairs_for_every_use_are_ordered_and_powers_stated_on_every_basis(orders: list[CleanOrder]) -> None:
    assert {(order.document["use"] or order.pair.written) for order in orders} == set(USES)
    bases = {order.document.get("power_basis") for order in orders if order.document["lenses"]["right"].get("power")}
    assert {"carried_to_vertex", "as_worn", "as_prescribed"} <= bases


def test_the_pair_worn_now_reads_near_what_it_was_made_to() -> None:
    """Within what making and reading explain, and seldom exactly the prescription that it was made by."""
    off = []
    for order in clean_orders(SEED, 400):
        worn, last = order.document["patient"]["present_spectacles"], order.document["previous_prescription"]
        if worn is not None and last is not None and order.worn_for == last["use"]:
            off += [abs(worn[eye]["sphere"] - last[eye]["sphere"]) for eye in EYES]
    assert len(off) > 100
    assert max(off) <= 0.5
    assert 0.02 < sum(off) / len(off) < 0.12


def test_a_slip_nearer_to_what_was_worn_than_the_truth_cannot_be_told(orders: list[CleanOrder]) -> None:
    order = next(order for order in orders if order.document["previous_prescription"])
    last, document = order.document["previous_prescription"], order.copy()
    for eye in EYES:
        kept = {key: last[eye][key] for key in ("sphere", "cylinder", "axis")}
        document["prescription"][eye] |= kept
    assert not by_earlier(order, document)
    for eye in EYES:
        document["prescription"][eye]["sphere"] += 5.0
    assert by_earlier(order, document)
    unknown = {"previous_prescription": None, "patient": {"present_spectacles": None}}
    nothing_known = replace(order, document={**order.document, **unknown})
    assert not by_earlier(nothing_known, document)


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
    worn_only = [o for o in parsed if o.previous_prescription is None and o.patient.present_spectacles is not None]
    assert 0.18 < len(worn_only) / len(parsed) < 0.32
    assert {order.supply for order in parsed} == {"fitted", "edged", "uncut"}
    assert len({order.frame.model for order in parsed}) > 20
    assert min(order.wearer.age for order in orders) < 16 < 70 < max(order.wearer.age for order in orders)
    spheres = [there(order.prescription.right.sphere) for order in parsed]
    assert min(spheres) < -5.0 < 3.0 < max(spheres)


def test_a_scan_of_the_paper_tells_what_nothing_else_does_and_raises_no_ask_of_its_own() -> None:
    without, scanned = trial(9091, 12, 12), trial(9091, 12, 12, scanned=True)
    assert scanned.asks == without.asks
    assert without.family("sign").share < scanned.family("sign").share
    assert scanned.family("axis").share >= without.family("axis").share
    assert without.copied_slips.share < scanned.copied_slips.share
    copied = ("add", "axis", "sign", "eyes", "decimal", "cylinder form")
    assert without.copied_slips.injected == sum(without.family(name).injected for name in copied)
    assert 0 < without.copied_slips.injected < without.all_slips.injected
