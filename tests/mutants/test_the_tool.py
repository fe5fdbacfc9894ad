"""The tool makes programs that run, picks the same faults for the same seed, and leaves every file as it was."""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

import pytest

from tests.mutants.__main__ import EQUIVALENTS, ROOT, drawn, main, table
from tests.mutants.faults import Fault, faults_in, moved
from tests.mutants.strata import STRATA, files, rounds_of_tests, stratum_of
from tests.mutants.trial import Outcome, put_into

PROGRAM = '''"""A docstring with right and 3 in it."""

from __future__ import annotations

LIMIT: float | None = 2.5


def asked(rows: list[int] | None, eye: str = "right") -> list[int]:
    """Not the docstring, and not 5 either."""
    if not rows or len(rows) > 3:
        raise ValueError("±” says nothing")
    rows.append(1 + 2)
    log.info("quiet")
    return rows.filter(eye=eye, owner=4).exclude(pk=7)
'''


def after(text: str, path: str = "dispensing/small.py") -> dict[str, set[str]]:
    """The changed line after each fault, by kind."""
    found: dict[str, set[str]] = {}
    for fault in faults_in(path, text.encode()):
        found.setdefault(fault.kind, set()).add(fault.as_lines(text.encode())[1])
    return found


def test_each_kind_of_fault_is_made_at_its_place() -> None:
    assert after(PROGRAM) == {
        "constant": {
            "LIMIT: float | None = 2.75",
            "if not rows or len(rows) > 4:",
            "rows.append(2 + 2)",
            "rows.append(1 + 3)",
            "return rows.filter(eye=eye, owner=5).exclude(pk=7)",
            "return rows.filter(eye=eye, owner=4).exclude(pk=8)",
        },
        "side": {'def asked(rows: list[int] | None, eye: str = "left") -> list[int]:'},
        "comparison": {"if not rows or len(rows) >= 3:"},
        "and / or": {"if not rows and len(rows) > 3:"},
        "dropped not": {"if rows or len(rows) > 3:"},
        "dropped raise": {"pass"},
        "dropped statement": {"pass"},
        "arithmetic": {"rows.append(1 - 2)"},
        "dropped filter": {
            "return rows.exclude(pk=7)",
            "return rows.filter(eye=eye, owner=4)",
        },
        "dropped condition": {
            "return rows.filter(owner=4).exclude(pk=7)",
            "return rows.filter(eye=eye).exclude(pk=7)",
        },
        "dropped result": {"return None"},
    }


def test_the_figures_of_a_table_move_by_a_tenth_and_nothing_else_in_it() -> None:
    figures = 'wide_mm = 18.0\nadds = [[40, 0.75]]\nside = "lower"\n'
    text = f'{figures}source = "About 3 of 4, 2014"\nsince = 2026-11-01\n# 5 = 6\n'
    assert after(text, "limits.toml") == {
        "figure": {"wide_mm = 19.8", "adds = [[44, 0.75]]", "adds = [[40, 0.825]]"},
        "stricter side": {'side = "higher"'},
    }
    assert [moved(figure) for figure in ("-4", "-0.5", "0", "1", "0.0")] == ["-5", "-0.55", "1", "2", "0.1"]


def test_every_fault_drawn_leaves_a_file_that_can_be_read() -> None:
    for fault in drawn(ROOT, seed=1, sample=140, strata=list(STRATA)):
        text = (ROOT / fault.path).read_bytes()
        changed = fault.put_into(text)
        assert changed != text
        tomllib.loads(changed.decode()) if fault.path.endswith(".toml") else ast.parse(changed)
        assert rounds_of_tests(ROOT, fault.path)


def test_the_same_seed_draws_the_same_and_another_seed_something_else() -> None:
    first, second = (drawn(ROOT, seed=seed, sample=20, strata=["optics", "fitting"]) for seed in (3, 4))
    assert first == drawn(ROOT, seed=3, sample=20, strata=["optics", "fitting"])
    assert first != second
    assert {stratum_of(fault.path) for fault in first} == {"optics", "fitting"}


@pytest.mark.parametrize("ends", ["well", "badly"])
def test_a_file_is_put_back_however_its_tests_end(ends: str, tmp_path: Path) -> None:
    file = tmp_path / "small.py"
    file.write_text(PROGRAM)
    fault = faults_in("small.py", PROGRAM.encode())[0]
    try:
        with put_into(tmp_path, fault) as (before, now):
            assert file.read_text() != PROGRAM
            assert before != now
            if ends == "badly":
                raise RuntimeError
    except RuntimeError:
        pass
    assert file.read_text() == PROGRAM


def test_the_table_counts_each_part_and_leaves_equivalents_out_of_the_share() -> None:
    known = tomllib.loads(EQUIVALENTS.read_text())["equivalent"][0]
    made = [(path, ended) for path in ("orders/facts.py", known["file"]) for ended in ("killed", "survived")]
    outcomes = [
        Outcome(Fault(path, "side", 1, 0, 0, b""), ended, "", 1.0, known["before"], known["after"])
        for path, ended in made
    ]
    rows = [[cell.strip() for cell in row.split("|")[1:-1]] for row in table(outcomes).splitlines()[2:]]
    assert ["services and queries", "2", "1", "1", "0", "0", "0", "50%"] in rows
    assert [stratum_of(known["file"]), "2", "1", "0", "1", "0", "0", "100%"] in rows
    assert rows[-1] == ["all", "4", "2", "1", "1", "0", "0", "67%"]


def test_every_equivalent_still_stands_in_the_program() -> None:
    """One whose line was changed since says nothing any more and is to be taken out."""
    for row in tomllib.loads(EQUIVALENTS.read_text())["equivalent"]:
        text = (ROOT / row["file"]).read_bytes()
        made = {fault.as_lines(text) for fault in faults_in(row["file"], text)}
        assert (row["before"], row["after"]) in made, row
        assert row["why"]


def test_what_is_drawn_can_be_looked_at_first(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--seed", "5", "--sample", "3", "--of", "optics", "--list"]) == 0
    assert capsys.readouterr().out.count("  + ") == 3


def test_no_file_of_the_program_but_what_is_left_out_escapes() -> None:
    found = set(files(ROOT))
    assert {"orders/facts.py", "dispensing/optics/prism.py"} <= found
    assert not [path for path in found if "/migrations/" in path or path.endswith(".css")]
