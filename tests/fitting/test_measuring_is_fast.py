"""The figures follow the pointer while marks are dragged, so one measurement must be short."""

from __future__ import annotations

from dispensing.fitting.measure import measure
from tests.benchmarks.bench_measure import milliseconds, typical_points


def test_a_measurement_with_its_plus_minus_takes_less_than_five_milliseconds():
    points = typical_points()
    assert measure(points).unlikely  # the slowest road: a mark has to be found as well
    # The best of many rounds: other work on the machine only ever makes a round longer.
    assert min(milliseconds(lambda: measure(points), rounds=60)) < 5.0
