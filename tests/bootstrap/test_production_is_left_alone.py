"""If a secret key and a database are given, nothing is ever installed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.bootstrap.small_project import SmallProject

PRODUCTION = {"SECRET_KEY": "x" * 50, "DATABASE_URL": "postgres://practice@db/practice"}


@pytest.mark.parametrize("environ", [PRODUCTION, {"DATUMLINE_BOOTSTRAP": "0"}], ids=["production", "told so"])
@pytest.mark.parametrize("command", ["migrate", "check_order", "demo", "test"])
def test_no_command_sets_up_anything(tmp_path: Path, environ: dict[str, Any], command: str) -> None:
    project = SmallProject(tmp_path / "project")
    ran = project.run(command, **environ)
    assert ran.returncode == 0, ran.stderr
    assert ran.stderr == ""
    assert not project.venv.exists()
