"""Tries one fault: puts it into a copy of the program, runs its tests, and puts the file back as it was."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from tests.mutants.faults import Fault
from tests.mutants.strata import rounds_of_tests

TESTS_FAILED, NOTHING_RAN = 1, 5  # pytest's exit codes
_FAILED = re.compile(r"^(?:FAILED|ERROR) (\S+?\.py(?:::\S+(?: \S+)*?)?)(?= - |$)", re.MULTILINE)


@dataclass(frozen=True)
class Outcome:
    """``ended``: killed, survived or timed out. ``by``: the test that noticed."""

    fault: Fault
    ended: str
    by: str
    seconds: float
    before: str
    after: str


def copy_of_last_commit(checkout: Path, to: Path) -> None:
    """The program and its tests as committed, apart from the checkout, with its modules compiled by content."""
    archive = subprocess.run(["git", "archive", "HEAD"], cwd=checkout, capture_output=True, check=True).stdout
    subprocess.run(["tar", "-x", "-C", str(to)], input=archive, check=True)
    if (checkout / ".venv").exists():  # else a test that calls manage.py would set one up
        (to / ".venv").symlink_to((checkout / ".venv").resolve())
    quietly = ["-q", "--invalidation-mode", "checked-hash", "dispensing", "orders", "tests"]
    subprocess.run([sys.executable, "-m", "compileall", *quietly], cwd=to, check=True)


@contextmanager
def put_into(copy: Path, fault: Fault) -> Iterator[tuple[str, str]]:
    """The fault in its file; whatever happens, the file is as it was afterwards."""
    path = copy / fault.path
    text = path.read_bytes()
    path.write_bytes(fault.put_into(text))
    try:
        yield fault.as_lines(text)
    finally:
        path.write_bytes(text)


def tried(copy: Path, fault: Fault, most_seconds: float) -> Outcome:
    """Round by round of its tests until one fails or the time is up."""
    start = time.monotonic()
    with put_into(copy, fault) as (before, after):
        for tests in rounds_of_tests(copy, fault.path):
            left = most_seconds - (time.monotonic() - start)
            code, said = run_tests(copy, tests, left)
            if code is None:
                return Outcome(fault, "timed out", "", time.monotonic() - start, before, after)
            if code not in (0, NOTHING_RAN):
                noticed = _FAILED.search(said)
                by = noticed[1] if noticed else f"pytest's exit code {code}"
                return Outcome(fault, "killed", by, time.monotonic() - start, before, after)
    return Outcome(fault, "survived", "", time.monotonic() - start, before, after)


_running: set[int] = set()


def stop_running() -> None:
    """End the tests that run now, when the tool itself is stopped."""
    for pid in list(_running):
        with suppress(ProcessLookupError):
            os.killpg(pid, signal.SIGKILL)


def run_tests(copy: Path, tests: list[str], most_seconds: float, *more: str) -> tuple[int | None, str]:
    """pytest's exit code and what it said; None when the time was up. Stops at the first failure."""
    usual = ["-x", "-q", "-rfE", "--tb=no", "-p", "no:cacheprovider", "-m", "not browser and not postgres"]
    environ = os.environ | {"PYTHONDONTWRITEBYTECODE": "1", "COLUMNS": "1000"}
    environ.pop("DATABASE_URL", None)
    command = [sys.executable, "-m", "pytest", *usual, *more, *tests]
    with subprocess.Popen(
        command,
        cwd=copy,
        env=environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    ) as running:
        _running.add(running.pid)
        try:
            said, _ = running.communicate(timeout=max(most_seconds, 1))
        except subprocess.TimeoutExpired:
            os.killpg(running.pid, signal.SIGKILL)
            running.communicate()
            return None, ""
        finally:
            _running.discard(running.pid)
    return running.returncode, said
