"""The pure parts of the pages' scripts, tested by Node's own test runner.

It uses the Node that comes with the browser tests' driver, so that a machine needs no other.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import Any

import playwright
import pytest

NODE = Path(playwright.__file__).parent / "driver" / "node"
FILES = sorted(Path(__file__).parent.glob("*.test.mjs"))


def count(said: str, what: str) -> int:
    found = re.search(rf"^# {what} (\d+)$", said, re.MULTILINE)
    assert found, said
    return int(found[1])


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name.removesuffix(".test.mjs"))
def test_scripts(file: Any) -> None:
    ran = subprocess.run([NODE, "--test", "--test-reporter=tap", file], capture_output=True, text=True)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert count(ran.stdout, "pass") == count(ran.stdout, "tests") > 0, ran.stdout  # None skipped, none to do.


def test_a_script_that_fails_fails_here_too(tmp_path: Path) -> None:
    file = tmp_path / "wrong.test.mjs"
    file.write_text("import { test } from 'node:test'; test('x', () => { throw new Error('torn'); });")
    with pytest.raises(AssertionError, match="not ok 1 - x"):
        test_scripts(file)
