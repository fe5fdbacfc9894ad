"""After how many pairs a lab's drift chart speaks, and how often it does so by mistake: ``python -m
tests.benchmarks.bench_lab_hand``.

Simulated labs grind each pair with a spread of 0.05 D common to both lenses and 0.03 D of each lens's own, and a
lensmeter adds 0.03 D to every reading. The chart is looked at after every pair, as the page does, with its spread from
the pairs so far; the published scheme knows the spread beforehand, so its run lengths stand beside.
"""

from __future__ import annotations

from datetime import date, timedelta
from statistics import fmean, median, quantiles

import numpy as np

from orders.figures.control import Scheme, average_run_length
from orders.figures.hand import Hand, Pair

LABS, LONGEST, PAIRS_A_YEAR = 200, 120, 250
COMMON_D, OWN_D, READING_D = 0.05, 0.03, 0.03
START = date(2026, 1, 1)


def simulated(bias_d: float, random: np.random.Generator, pairs: int) -> list[Pair]:
    """One lab's pairs, one a day."""
    common = random.normal(bias_d, COMMON_D, pairs)
    lenses = random.normal(0.0, (OWN_D**2 + READING_D**2) ** 0.5, (pairs, 2)).mean(axis=1)
    errors = (common + lenses).tolist()
    return [Pair(f"S-{number}", START + timedelta(days=number), error) for number, error in enumerate(errors)]


def words(pairs: list[Pair]) -> list[int]:
    """After which pairs somebody who looks each time sees the chart begin to speak."""
    seen, before = [], False
    for number in range(1, len(pairs) + 1):
        speaks = Hand("lab", "", "meridian_high", tuple(pairs[:number]), Scheme()).speaks
        if speaks and not before:
            seen.append(number)
        before = speaks
    return seen


def main() -> None:
    random = np.random.default_rng(4711)
    spread = (COMMON_D**2 + (OWN_D**2 + READING_D**2) / 2.0) ** 0.5
    print(f"{LABS} simulated labs; a pair's mean spreads by {spread:.3f} D")
    for bias in (0.03, 0.06, 0.12):
        first = [next(iter(words(simulated(bias, random, LONGEST))), LONGEST) for _ in range(LABS)]
        shift = bias / spread
        known = average_run_length(shift, Scheme())
        print(
            f"bias {bias:.2f} D ({shift:.2f} sigma): speaks after {fmean(first):.1f} pairs on average, median "
            f"{median(first):.0f}, nine in ten by {quantiles(first, n=10)[-1]:.0f}; with the spread known {known:.1f}"
        )
    false = [len(words(simulated(0.0, random, PAIRS_A_YEAR))) for _ in range(LABS // 4)]
    print(
        f"no bias: {fmean(false):.2f} false alarms in {PAIRS_A_YEAR} pairs, a year of one lab; with the spread known "
        f"one in {average_run_length(0.0, Scheme()):.0f} pairs, {PAIRS_A_YEAR / average_run_length(0.0, Scheme()):.2f}"
    )


if __name__ == "__main__":
    main()
