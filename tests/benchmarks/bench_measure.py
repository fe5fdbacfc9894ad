"""How long one measurement takes, with its ± and every check: ``python -m tests.benchmarks.bench_measure``.

Prints processor time, so that other work on the machine does not count. The goal is less than 5 ms.
"""

from __future__ import annotations

import json
import statistics
import time
from collections.abc import Callable

import numpy as np

from dispensing.fitting.documents import FittingPoints, parse_points
from dispensing.fitting.measure import measure
from tests.fitting.simulate import Scene, random_scene

ROUNDS = 200


def milliseconds(work: Callable[[], object], rounds: int = ROUNDS) -> list[float]:
    """Processor time of each round."""
    spent = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        spent.append(1000 * (time.process_time() - start))
    return spent


def typical_points() -> FittingPoints:
    """A front and a side photo, marked with noise, of which some figure is unlikely (the slowest road)."""
    scene = random_scene(np.random.default_rng(2), with_side=True, scale_by="frame")
    return parse_points(json.dumps(scene.marked(np.random.default_rng(3))))


def main() -> None:
    text = json.dumps(Scene().marked(np.random.default_rng(0)))
    points = typical_points()
    measure(points)
    for name, work in (("parse", lambda: parse_points(text)), ("measure", lambda: measure(points))):
        spent = sorted(milliseconds(work))
        worst = spent[int(0.95 * len(spent))]
        print(f"{name:8s} median {statistics.median(spent):6.2f} ms, 95 % below {worst:6.2f} ms, {ROUNDS} rounds")


if __name__ == "__main__":
    main()
