"""Stored files are reached through ``dispensing/services/files.py`` only, so that what holds for one holds for all."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tests.architecture.source_tree import modules

# A file field's own ways of reading, writing and deleting.
AROUND = re.compile(r"\.(?:file|thumbnail)\.(?:save|open|read|delete|path|url|storage|chunks)\b|default_storage")
MAY = {"dispensing.services.files", "dispensing.doctor.checks.files"}


@pytest.mark.parametrize(
    ("name", "path"), [found for found in modules() if re.search(r"\.(services|views|api|doctor)\.", found[0])]
)
def test_nothing_reaches_a_stored_file_around_the_door(name: str, path: Path) -> None:
    found: list[Any] = [] if name in MAY else AROUND.findall(path.read_text())
    assert not found, f"{name} has {found}; use dispensing/services/files.py."
