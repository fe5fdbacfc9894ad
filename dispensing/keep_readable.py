"""Keeps SQLite readable when its disk fills up or can no longer be written to.

In its write-ahead mode SQLite needs two files beside the database even to read, and takes them away with the last
connection: on a full disk it then could not make them again. So each web process keeps one idle connection open from
its first request on. Not earlier: a connection must not be carried into a forked process.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from typing import Any

from django.core.signals import request_started
from django.db import connection

_kept: tuple[int, str, sqlite3.Connection] | None = None


def start() -> None:
    """Called once, when the app is ready."""
    request_started.connect(_keep, dispatch_uid="keep SQLite readable")


def _keep(**_: Any) -> None:
    global _kept
    name = str(connection.settings_dict["NAME"])
    if connection.vendor != "sqlite" or (_kept is not None and _kept[:2] == (os.getpid(), name)):
        return
    with contextlib.suppress(sqlite3.Error):  # whoever asks for the page is told what is wrong
        kept = sqlite3.connect(f"file:{name}?mode=rw", uri=True, check_same_thread=False)
        kept.execute("SELECT 1 FROM sqlite_master").fetchone()
        _kept = (os.getpid(), name, kept)
