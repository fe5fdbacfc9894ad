"""What this program writes, its own user alone may read: every process begins by saying so. Standard library only."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

OTHERS = 0o077
"""The rights of everybody but the owner."""


def keep_private() -> None:
    """From now on nobody else may read, write or enter what this process makes."""
    os.umask(OTHERS)


def private_folder(path: Path) -> Path:
    """The folder, made if it can be; one that cannot is for the doctor to say, and not to stop the start."""
    try:
        path.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError:
        return path
    return path


def open_to_others(*paths: Path) -> Iterator[Path]:
    """Those that are there, and that somebody else on this machine may read, write or enter."""
    yield from (path for path in paths if path.exists() and path.stat().st_mode & OTHERS)
