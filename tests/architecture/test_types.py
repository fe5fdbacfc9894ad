"""Whatever the type checker is told to overlook names its error and the reason; mypy itself checks all the rest."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from tests.architecture.source_tree import ROOT

OVERLOOKED = re.compile(r"# type: ignore(?!\[[a-z, -]+\]  # \w)")
CHECKED = ("dispensing", "orders", "tests")


@pytest.mark.parametrize("path", [path for name in CHECKED for path in (ROOT / name).rglob("*.py")], ids=str)
def test_what_is_overlooked_says_which_error_and_why(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()

    assert [line for line in lines if OVERLOOKED.search(line) and "re.compile" not in line] == []


def test_everything_is_checked_strictly_but_what_has_no_types_of_its_own() -> None:
    mypy = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["mypy"]

    assert mypy["strict"] is True
    assert {*CHECKED, "manage.py"} <= set(mypy["files"])
    assert mypy["exclude"] == ["/migrations/"]
    ours = tuple(f"{name}." for name in CHECKED)
    assert not [name for loose in mypy["overrides"] for name in loose["module"] if name.startswith(ours)]
