"""If anything of a real installation is set, nothing is ever installed; what to run is said instead."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from dispensing.bootstrap.entry import OF_A_REAL_INSTALLATION, is_wanted
from tests.bootstrap.small_project import ROOT, SmallProject

PRODUCTION = {"SECRET_KEY": "x" * 50, "DATABASE_URL": "postgres://practice@db/practice"}


@pytest.mark.parametrize("environ", [PRODUCTION, {"DATUMLINE_BOOTSTRAP": "0"}], ids=["production", "told so"])
@pytest.mark.parametrize("command", ["migrate", "check_order", "demo", "test"])
def test_no_command_sets_up_anything(tmp_path: Path, environ: dict[str, Any], command: str) -> None:
    project = SmallProject(tmp_path / "project")
    ran = project.run(command, **environ)
    assert ran.returncode == 0, ran.stderr
    assert ran.stderr == ""
    assert not project.venv.exists()


@pytest.mark.parametrize("name", OF_A_REAL_INSTALLATION)
def test_one_setting_of_a_real_installation_is_enough_to_be_left_alone(tmp_path: Path, name: str) -> None:
    project = SmallProject(tmp_path / "project")
    ran = project.run("migrate", **{name: "something"})
    assert (ran.returncode, ran.stderr) == (0, "")
    assert not project.venv.exists()


def test_the_tests_may_be_given_a_database_and_still_be_set_up(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in (*OF_A_REAL_INSTALLATION, "DATUMLINE_BOOTSTRAP"):
        monkeypatch.delenv(name, raising=False)
    assert is_wanted("migrate")
    monkeypatch.setenv("DATABASE_URL", "postgres://tester@/tests")
    assert is_wanted("test")
    assert not is_wanted("migrate")
    monkeypatch.setenv("SECRET_KEY", "k")
    assert not is_wanted("test")


def test_without_django_the_two_lines_to_run_are_said(tmp_path: Path) -> None:
    project = SmallProject(tmp_path / "project")
    shutil.copy(ROOT / "manage.py", project.folder)
    ran = subprocess.run(
        [sys.executable, "-S", "manage.py", "migrate"],
        cwd=project.folder,
        env={"PATH": os.environ["PATH"], "DATABASE_URL": "postgres://practice@db/practice"},
        capture_output=True,
        text=True,
    )
    assert ran.returncode == 1
    assert "DATABASE_URL is set, so this is a real installation" in ran.stderr
    assert "-m venv .venv\n    .venv/bin/pip install --require-hashes --no-deps -r requirements.txt\n" in ran.stderr
    assert not project.venv.exists()
