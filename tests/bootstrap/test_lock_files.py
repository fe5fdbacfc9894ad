"""The lock files: complete, hashed, and naming no place to fetch from."""

from __future__ import annotations

import re
import sys
from importlib.metadata import version
from pathlib import Path

import pytest

from tests.known import there

ROOT = Path(__file__).parents[2]
LOCKS = ("requirements.txt", "requirements-dev.txt")
PIN = re.compile(r"^([a-z0-9][a-z0-9._-]*)==(\S+)(?: ; (.+?))? \\$", re.MULTILINE)


def pins(lock: str) -> set[tuple[str, str, str]]:
    """Name, version and marker of every package in a lock."""
    return set(PIN.findall((ROOT / lock).read_text()))


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_names_no_host_and_no_index(lock: str) -> None:
    text = (ROOT / lock).read_text()
    assert not re.search(r"https?:|--index|--extra-index|--find-links|file:", text)


@pytest.mark.parametrize("lock", LOCKS)
def test_every_locked_package_has_a_hash(lock: str) -> None:
    logical_lines = (ROOT / lock).read_text().replace("\\\n", " ").splitlines()
    packages = [line for line in logical_lines if line and not line.startswith("#")]
    assert len(packages) == len(pins(lock)) > 40
    assert [line for line in packages if "--hash=sha256:" not in line] == []


def test_the_tests_run_on_the_very_versions_that_a_practice_runs_on() -> None:
    assert pins("requirements.txt") <= pins("requirements-dev.txt")


def test_every_package_the_project_asks_for_is_locked() -> None:
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    for lock, asked in (
        ("requirements.txt", project["project"]["dependencies"]),
        ("requirements-dev.txt", project["dependency-groups"]["dev"]),
    ):
        names = {re.sub(r"[-_.]+", "-", there(re.match(r"[A-Za-z0-9._-]+", line))[0]).lower() for line in asked}
        assert names - {name for name, _, _ in pins(lock)} == set()


def test_this_very_run_has_the_locked_versions() -> None:
    here = {name: wanted for name, wanted, marker in pins("requirements-dev.txt") if not marker}
    found = {name: version(name) for name in here}
    assert found == here, f"Set up again with: python3 manage.py test (in {sys.prefix})"
