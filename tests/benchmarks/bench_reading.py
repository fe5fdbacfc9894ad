"""How long one page takes to be read, and how much memory: ``python -m tests.benchmarks.bench_reading``.

Each page is read as a practice's is, in a child started for it, so that starting and loading count. By the clock and in
processor time; the goal is 3 s by the clock on two quiet cores, and 700 MB. At last how long it takes to compare what
was typed with what was read; the goal is 1 ms.
"""

from __future__ import annotations

import os
import random
import resource
import statistics
import time

from dispensing.prescribing.paper.differs import differences, figures_read
from dispensing.recognition.runner import recognise_file
from tests.reading.damage import KINDS, damaged
from tests.reading.measure import cases

PAGES = 16
COMPARED = 2000


def main() -> None:
    took: dict[str, list[tuple[float, float]]] = {}
    for case in cases(PAGES, 1, KINDS):
        content = damaged(case.sheet.picture(), case.kind, random.Random(case.layout))
        before, start = _processor_time(), time.perf_counter()
        recognise_file(content, pictures=True)
        took.setdefault(case.kind, []).append((time.perf_counter() - start, _processor_time() - before))
    print(f"{'':10}{'median s':>10}{'longest s':>10}{'processor s':>12}")
    for kind, one in took.items():
        clock, processor = ([pair[place] for pair in one] for place in (0, 1))
        print(f"{kind:10}{statistics.median(clock):>10.2f}{max(clock):>10.2f}{statistics.median(processor):>12.2f}")
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"at most {most:.0f} MB; load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print(f"typed compared with read: {_comparing() * 1000:.3f} ms")


def _processor_time() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _comparing() -> float:
    """Processor seconds for both eyes of one prescription."""
    found = {"sphere": -3.25, "cylinder": -1.0, "axis": 170, "add": 2.0, "prism": [{"amount": 2.0, "base": "in"}]}
    typed = figures_read("right", found | {"axis": 70})
    start = time.process_time()
    for _ in range(COMPARED):
        differences(typed, figures_read("right", found))
        differences(typed, figures_read("left", found))
    return (time.process_time() - start) / COMPARED


if __name__ == "__main__":
    main()
