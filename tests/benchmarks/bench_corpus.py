"""The order check on clean orders and every slip each has room for: ``python -m tests.benchmarks.bench_corpus``.

Prints the table in DEVELOPERS.md: for each class of slip how many were injected, the share that raised a stop or an ask
at the slip's own field, the share that stopped the order, the share of orders whose other data can tell at all, and the
share caught among those.

May be followed by how many clean orders (2,000), the seed (1), and of how many orders the slips are tried (all), which
takes nearly all the time: ``2000 9091 300`` takes a minute, everything several. ``scanned`` at the end: the paper of
each prescription was scanned and read.
"""

from __future__ import annotations

import sys
import time

from tests.orders.corpus.trial import table, trial

ORDERS = 2000
SEED = 1


def main(count: int = ORDERS, seed: int = SEED, with_slips: int | None = None, *, scanned: bool = False) -> None:
    start = time.process_time()
    print(table(trial(seed, count, with_slips, scanned=scanned)))
    print(f"\n{time.process_time() - start:.0f} s of processor time")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:4] if word.isdigit()), scanned="scanned" in sys.argv)
