"""How the test command combines its two runs, and which tests belong to which database."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.run import INTERRUPTED, NO_TESTS_COLLECTED, ROOT, Outcome, close, read_outcome

GOOD = Outcome("SQLite", 0, passed=3)


@pytest.mark.parametrize(
    ("outcomes", "exit_code"),
    [
        ([GOOD, Outcome("PostgreSQL", 0, passed=2)], 0),
        ([GOOD, Outcome("PostgreSQL", NO_TESTS_COLLECTED)], 0),  # Only pure tests were asked for.
        ([GOOD, Outcome("PostgreSQL", 1, passed=1, failed=1)], 1),
        ([Outcome("SQLite", 1, failed=1), Outcome("PostgreSQL", 0, passed=2)], 1),
        ([Outcome("SQLite", NO_TESTS_COLLECTED), Outcome("PostgreSQL", NO_TESTS_COLLECTED)], 1),
        ([Outcome("SQLite", INTERRUPTED)], 1),
        ([GOOD], 1),  # The run on PostgreSQL is missing.
    ],
)
def test_the_command_succeeds_only_when_both_runs_did_and_some_test_ran(outcomes: list[Any], exit_code: int) -> None:
    assert close(outcomes, 1.0) == exit_code


def test_the_closing_line_adds_up_both_databases(capsys: pytest.CaptureFixture[str]) -> None:
    close([Outcome("SQLite", 1, passed=3, failed=1), Outcome("PostgreSQL", 0, passed=2, skipped=1)], 1.0)
    assert "5 passed, 1 failed, 1 skipped" in capsys.readouterr().out.splitlines()


def test_the_figures_come_from_the_report(tmp_path: Path) -> None:
    report = tmp_path / "sqlite.xml"
    report.write_text(
        '<testsuites><testsuite tests="10" failures="1" errors="2" skipped="3"/></testsuites>', encoding="utf-8"
    )
    assert read_outcome("SQLite", 1, report) == Outcome("SQLite", 1, passed=4, failed=3, skipped=3)


def test_a_run_that_left_no_report_counts_nothing(tmp_path: Path) -> None:
    assert read_outcome("SQLite", 4, tmp_path / "none.xml") == Outcome("SQLite", 4)


SAYS_ITS_DATABASE = "from tests import settings; print(settings.DATABASES['default']['ENGINE'], flush=True)"
STARTS_ANOTHER = f"{SAYS_ITS_DATABASE}; import subprocess, sys; subprocess.run([sys.executable, '-c', sys.argv[1]])"


@pytest.mark.parametrize("database", ["postgresql", "sqlite"])
def test_the_processes_of_a_parallel_run_are_on_the_database_of_the_one_that_starts_them(database: str) -> None:
    environ = {name: value for name, value in os.environ.items() if not name.endswith("DATABASE_URL")}
    if database == "postgresql":
        environ["DATABASE_URL"] = "postgres://tester@/postgres?host=/nowhere"
    command = [sys.executable, "-c", STARTS_ANOTHER, SAYS_ITS_DATABASE]
    ran = subprocess.run(command, cwd=ROOT, env=environ, capture_output=True, text=True, check=True)
    first, second = ran.stdout.split()
    assert first.rpartition(".")[2].removesuffix("3") == database
    assert second == first


@pytest.mark.postgres
@pytest.mark.django_db
def test_the_second_run_is_on_a_real_postgresql_that_takes_every_script() -> None:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("SELECT current_setting('server_encoding'), current_setting('server_version_num')::int")
        encoding, server_version = cursor.fetchone()
    assert encoding == "UTF8"
    assert server_version >= 140000
