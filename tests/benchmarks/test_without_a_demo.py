"""A benchmark that needs the demo practice says so in one line if there is none."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_benchmark_of_the_order_page_asks_for_the_demo(tmp_path: Path) -> None:
    environ = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    ran = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.bench_order_page"],
        cwd=ROOT,
        env={**environ, "DATUMLINE_DATA_DIR": str(tmp_path)},
        capture_output=True,
        text=True,
    )
    assert (ran.returncode, ran.stdout) == (1, "")
    [line] = ran.stderr.splitlines()
    assert line.startswith(f"There is no demo practice in {tmp_path}. Make one with")
