"""``manage.py test [PYTEST ARGUMENTS]``: all tests on SQLite, then those that touch the database on PostgreSQL.

PostgreSQL is the server of ``DATABASE_URL``, or else one started for this run. It leaves one JUnit file per database in
``var/test-reports/``. Standard library only.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from tests.postgres import running_server

ROOT = Path(__file__).resolve().parent.parent
REPORTS = ROOT / "var" / "test-reports"
# One process a core, each with its own database and browser; neighbours stay together, so that what a module sets up
# once is set up once. Before the arguments, so that a -n among them wins.
IN_PARALLEL = ["-n", "auto", "--dist", "worksteal"]
INTERRUPTED = 2  # pytest's exit codes
NO_TESTS_COLLECTED = 5


@dataclass(frozen=True)
class Outcome:
    """What one pytest run came to."""

    database: str
    exit_code: int
    passed: int = 0
    failed: int = 0
    skipped: int = 0

    @property
    def is_good(self) -> bool:
        return self.exit_code in {0, NO_TESTS_COLLECTED}


def main(arguments: list[str]) -> int:
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # So that the PostgreSQL server is stopped too.
    start = time.monotonic()
    shutil.rmtree(REPORTS, ignore_errors=True)
    REPORTS.mkdir(parents=True)
    given_url = os.environ.pop("DATABASE_URL", None)
    outcomes = [_run("SQLite", None, arguments)]
    if outcomes[0].exit_code != INTERRUPTED:
        with _postgres(given_url) as url:
            outcomes.append(_run("PostgreSQL", url, arguments))
    return close(outcomes, time.monotonic() - start)


@contextlib.contextmanager
def _postgres(given_url: str | None) -> Iterator[str]:
    if given_url:
        yield given_url
        return
    with running_server() as url:
        yield url


def _run(database: str, url: str | None, arguments: list[str]) -> Outcome:
    print(f"\n===== The tests on {database} =====", flush=True)
    report = REPORTS / f"{database.lower()}.xml"
    command = [sys.executable, "-m", "pytest", f"--junitxml={report}", *IN_PARALLEL, *arguments]
    environ = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"}
    # Many processes load the same modules; each would compile them anew, which takes longer than many a test.
    environ.pop("PYTHONDONTWRITEBYTECODE", None)
    if url:
        environ["DATABASE_URL"] = url
    exit_code = subprocess.run(command, cwd=ROOT, env=environ).returncode
    return read_outcome(database, exit_code, report)


def read_outcome(database: str, exit_code: int, report: Path) -> Outcome:
    if not report.exists():
        return Outcome(database, exit_code)
    total = failed = skipped = 0
    for suite in ElementTree.parse(report).iter("testsuite"):
        total += int(suite.get("tests", 0))
        failed += int(suite.get("failures", 0)) + int(suite.get("errors", 0))
        skipped += int(suite.get("skipped", 0))
    return Outcome(database, exit_code, total - failed - skipped, failed, skipped)


def close(outcomes: list[Outcome], seconds: float) -> int:
    print("\n===== Both databases =====")
    for outcome in outcomes:
        word = "good" if outcome.is_good else f"not good (pytest's exit code {outcome.exit_code})"
        print(f"{outcome.database}: {outcome.passed} passed, {outcome.failed} failed: {word}")
    passed = sum(outcome.passed for outcome in outcomes)
    failed = sum(outcome.failed for outcome in outcomes)
    skipped = sum(outcome.skipped for outcome in outcomes)
    print(f"{passed} passed, {failed} failed, {skipped} skipped")
    print(f"in {seconds:.0f} s", flush=True)
    ran_any = any(outcome.exit_code != NO_TESTS_COLLECTED for outcome in outcomes)
    return 0 if ran_any and len(outcomes) == 2 and all(outcome.is_good for outcome in outcomes) else 1
