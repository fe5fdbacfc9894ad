"""CI's own guard: it catches a run that left out something it should have run."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

GUARD = Path(__file__).parents[2] / ".ci" / "no_skips.py"
DRIVES = '<property name="drives" value="browser"/>'


def case(name: str, properties: str, inside: str = "") -> str:
    return f'<testcase classname="t" name="{name}"><properties>{properties}</properties>{inside}</testcase>'


def saves(database: str, name: str = "test_saves") -> str:
    return case(name, f'<property name="touches" value="{database}"/>')


PAGE = case("test_page", f'<property name="touches" value="sqlite"/>{DRIVES}')
PURE = case("test_pure", "")


def report(folder: Path, database: str, *cases: str) -> None:
    (folder / f"{database}.xml").write_text(f"<testsuites><testsuite>{''.join(cases)}</testsuite></testsuites>")


def guard(folder: Path) -> tuple[int, str]:
    ran = subprocess.run([sys.executable, GUARD, folder], capture_output=True, text=True)
    return ran.returncode, ran.stdout


def test_a_full_run_passes(tmp_path: Path) -> None:
    report(tmp_path, "sqlite", PURE, saves("sqlite"), PAGE)
    report(tmp_path, "postgresql", saves("postgresql"))
    assert guard(tmp_path) == (0, "No test was left out.\n")


def test_a_database_that_was_left_out_fails(tmp_path: Path) -> None:
    report(tmp_path, "sqlite", PURE, saves("sqlite"), PAGE)
    code, said = guard(tmp_path)
    assert code == 1
    assert "postgresql: the tests did not run" in said


def test_one_test_on_sqlite_in_the_place_of_postgresql_fails_and_is_named(tmp_path: Path) -> None:
    report(tmp_path, "sqlite", saves("sqlite"), PAGE)
    report(tmp_path, "postgresql", saves("postgresql"), saves("sqlite", "test_elsewhere"))
    assert guard(tmp_path) == (1, "postgresql: t.test_elsewhere ran on sqlite.\n")


def test_a_run_in_which_nothing_touched_its_database_fails(tmp_path: Path) -> None:
    report(tmp_path, "sqlite", saves("sqlite"), PAGE)
    report(tmp_path, "postgresql", PURE)
    assert guard(tmp_path) == (1, "postgresql: no test ran that touches postgresql.\n")


def test_a_run_without_the_browser_fails(tmp_path: Path) -> None:
    report(tmp_path, "sqlite", saves("sqlite"))
    report(tmp_path, "postgresql", saves("postgresql"))
    assert guard(tmp_path) == (1, "sqlite: no test ran that drives browser.\n")


def test_one_skipped_test_fails_and_is_named(tmp_path: Path) -> None:
    skipped = case("test_two_desks", "", '<skipped message="not today"/>')
    report(tmp_path, "sqlite", saves("sqlite"), PAGE, skipped)
    report(tmp_path, "postgresql", saves("postgresql"))
    assert guard(tmp_path) == (1, "sqlite: skipped: t.test_two_desks\n")
