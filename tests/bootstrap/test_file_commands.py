"""The commands that only read files start without loading the apps, and so without a database."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import manage

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("command", manage.FILE_COMMANDS)
def test_a_command_about_files_loads_no_models(command: Any) -> None:
    ran = subprocess.run(
        [sys.executable, "-X", "importtime", ROOT / "manage.py", command, "--help"], capture_output=True, text=True
    )
    assert ran.returncode == 0
    assert command in ran.stdout
    imported = {line.rpartition("|")[2].strip() for line in ran.stderr.splitlines()}
    assert "django.core.management" in imported
    assert {"rest_framework", "dispensing.models", "orders.models"} & imported == set()
