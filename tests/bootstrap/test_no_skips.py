"""CI's own guard: a run that left out what it should have run is found out."""

import subprocess
import sys
from pathlib import Path

GUARD = Path(__file__).parents[2] / ".ci" / "no_skips.py"
TOUCHES = '<property name="touches" value="database"/>'
DRIVES = '<property name="drives" value="browser"/>'


def case(name: str, properties: str, inside: str = "") -> str:
    return f'<testcase classname="t" name="{name}"><properties>{properties}</properties>{inside}</testcase>'


def report(folder: Path, database: str, *cases: str, really: str | None = None) -> None:
    (folder / f"{database}.xml").write_text(
        f'<testsuites><testsuite><properties><property name="database" value="{really or database}"/></properties>'
        f"{''.join(cases)}</testsuite></testsuites>"
    )


def guard(folder: Path) -> tuple[int, str]:
    ran = subprocess.run([sys.executable, GUARD, folder], capture_output=True, text=True)
    return ran.returncode, ran.stdout


FULL = (case("test_saves", TOUCHES), case("test_page", TOUCHES + DRIVES))


def test_a_full_run_passes(tmp_path):
    report(tmp_path, "sqlite", *FULL)
    report(tmp_path, "postgresql", *FULL)
    assert guard(tmp_path) == (0, "No test was left out.\n")


def test_a_database_that_was_left_out_fails(tmp_path):
    report(tmp_path, "sqlite", *FULL)
    code, said = guard(tmp_path)
    assert code == 1
    assert "postgresql: the tests did not run" in said


def test_a_run_on_sqlite_in_the_place_of_postgresql_fails(tmp_path):
    report(tmp_path, "sqlite", *FULL)
    report(tmp_path, "postgresql", *FULL, really="sqlite")
    assert guard(tmp_path) == (1, "postgresql: the run was on another database.\n")


def test_a_run_without_the_browser_fails(tmp_path):
    report(tmp_path, "sqlite", *FULL)
    report(tmp_path, "postgresql", FULL[0])
    assert guard(tmp_path) == (1, "postgresql: no test ran that drives the browser.\n")


def test_one_skipped_test_fails_and_is_named(tmp_path):
    skipped = case("test_two_desks", TOUCHES, '<skipped message="not today"/>')
    report(tmp_path, "sqlite", *FULL, skipped)
    report(tmp_path, "postgresql", *FULL)
    assert guard(tmp_path) == (1, "sqlite: skipped: t.test_two_desks\n")
