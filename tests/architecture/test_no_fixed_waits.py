"""Tests wait for what should happen, never for a fixed time, which is too long on one machine and too short on another.

A short sleep between two looks at something outside this process is not a fixed wait; the places with one are listed
here.
"""

from __future__ import annotations

import ast
from pathlib import Path

TESTS = Path(__file__).parents[1]
LOOKS_AGAIN_AFTER_A_SLEEP = {"postgres.py"}


def waits(source: str) -> list[int]:
    """The lines that call ``sleep`` or ``wait_for_timeout``, however these were imported."""
    calls = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call))
    names = ((getattr(call.func, "attr", getattr(call.func, "id", "")), call.lineno) for call in calls)
    return [line for name, line in names if name in {"sleep", "wait_for_timeout"}]


def test_no_test_waits_for_a_time() -> None:
    found = {str(path.relative_to(TESTS)): waits(path.read_text()) for path in TESTS.rglob("*.py")}
    assert {path for path, lines in found.items() if lines} == LOOKS_AGAIN_AFTER_A_SLEEP


def test_a_fixed_wait_is_found_out() -> None:
    assert waits("import time\ntime.sleep(1)") == [2]
    assert waits("from time import sleep\nsleep(1)\npage.wait_for_timeout(5)\npage.wait_for_url('x')") == [2, 3]
