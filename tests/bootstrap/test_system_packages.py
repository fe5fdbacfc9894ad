"""When a machine lacks something: what the user is told, and what is not attempted."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from dispensing.bootstrap import system_packages
from dispensing.bootstrap.system_packages import Need, ensure, install_line, missing

NOT_THERE = Need("a library of no such name", "nothing", "no-such-package", lambda: False)
THERE = Need("a thing that is there", "anything", "some-package", lambda: True)


@pytest.fixture
def nothing_may_be_installed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A user without apt-get in reach, as on another system or without the right to it."""
    monkeypatch.setenv("PATH", str(tmp_path))


def test_only_what_is_missing_is_named() -> None:
    assert missing([THERE, NOT_THERE]) == [NOT_THERE]


def test_a_library_that_cannot_be_loaded_is_missing() -> None:
    assert not system_packages._library("libno-such-library.so.0")()
    assert system_packages._library("libc.so.6")()


def test_the_line_to_run_is_printed_when_the_user_may_not_install(nothing_may_be_installed: Any) -> None:
    with pytest.raises(SystemExit) as stop:
        ensure([THERE, NOT_THERE])
    message = str(stop.value)
    assert "a library of no such name (for nothing)" in message
    assert "\n    sudo apt-get update && sudo apt-get install --no-install-recommends no-such-package\n" in message
    assert "some-package" not in message


def test_nothing_is_said_when_nothing_is_missing(
    nothing_may_be_installed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    ensure([THERE])
    assert capsys.readouterr() == ("", "")


def test_one_line_installs_everything() -> None:
    line = install_line(system_packages.FOR_TESTS)
    for package in (
        "libpangoft2-1.0-0",
        "libharfbuzz-subset0",
        "fonts-dejavu-core",
        "chromium",
        "libatomic1",
        "postgresql",
    ):
        assert f" {package}" in line


def test_the_newest_postgresql_is_taken_that_has_its_extensions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for version, parts in {"9": "bp", "15": "bp", "17": "b", "none": "bp"}.items():
        for part, path in {"b": "bin/postgres", "p": "lib/pg_trgm.so"}.items():
            if part in parts:
                (tmp_path / version / path).parent.mkdir(parents=True)
                (tmp_path / version / path).touch()
    monkeypatch.setattr(system_packages, "POSTGRESQL_VERSIONS", tmp_path)
    assert system_packages.postgresql() == tmp_path / "15/bin"
    monkeypatch.setattr(system_packages, "POSTGRESQL_VERSIONS", tmp_path / "17")
    assert system_packages.postgresql() is None
