"""The file of all orders, from few and from many: its time and the most memory it takes. Asserts nothing.

Run: ``python -m tests.benchmarks.bench_csv [10000 200000] [--on postgresql|sqlite]``, or with the URLs of loaded
`practices` in place of sizes. Each is written by a process of its own; the memory must not grow with the rows.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import time

from tests.benchmarks.bench_scale import told
from tests.benchmarks.practices import ON, practices, with_database


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("practices", nargs="*", default=["10000", "200000"])
    parser.add_argument("--on", choices=ON, default=ON[0])
    parser.add_argument("--write", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.write:
        _write()
        return
    command = [sys.executable, "-m", "tests.benchmarks.bench_csv", "--write"]
    with practices(asked.practices, asked.on) as urls:
        for url in urls:
            print(f"{told(url)}: ", end="", flush=True)
            subprocess.run(command, env=with_database(url), check=True)


def _write() -> None:
    import django

    django.setup()
    from dispensing.spreadsheets import csv_lines
    from orders.board_queries import whole_board
    from orders.presentation.board import FILE_HEADS, file_rows
    from orders.queries import BoardFilter

    began, rows, size = time.perf_counter(), -1, 0
    for line in csv_lines(FILE_HEADS, file_rows(whole_board(BoardFilter()))):
        rows, size = rows + 1, size + len(line)
    took = time.perf_counter() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{rows:,} rows, {size / 1e6:.1f} MB in {took:.1f} s; at most {peak:.0f} MB of memory", flush=True)


if __name__ == "__main__":
    main()
