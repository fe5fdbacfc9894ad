"""What runs before ``.venv`` exists may import nothing that has to be installed."""

from __future__ import annotations

import ast
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
BEFORE_VENV = [
    ROOT / "manage.py",
    ROOT / "dispensing" / "__init__.py",
    *(ROOT / "dispensing" / "bootstrap").glob("*.py"),
    ROOT / ".ci" / "no_skips.py",
    ROOT / "tests" / "__init__.py",
    ROOT / "tests" / "run.py",
    ROOT / "tests" / "postgres.py",
]
ALLOWED = {*sys.stdlib_module_names, "dispensing.bootstrap", "tests.run", "tests.postgres"}
# manage.py reaches Django at its very end, when it is there.
AT_ITS_END = {
    "manage.py": {"django.core.exceptions", "django.core.management", "dispensing.outages", "dispensing.private"}
}


def imported(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add(node.module or "")
    return names


def is_allowed(name: str) -> bool:
    return any(name == start or name.startswith(f"{start}.") for start in ALLOWED)


@pytest.mark.parametrize("path", BEFORE_VENV, ids=lambda path: path.name)
def test_it_imports_the_standard_library_alone(path: Any) -> None:
    foreign = {name for name in imported(path) if not is_allowed(name)}
    assert foreign - AT_ITS_END.get(path.name, set()) == set()
