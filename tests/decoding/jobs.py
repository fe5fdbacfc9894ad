"""What a picture may do to whoever opens it, as functions that the child process is asked for."""

from __future__ import annotations

import os
import signal
import threading
from typing import Any


def who(content: bytes) -> tuple[int, bytes]:
    return os.getpid(), content


def greedy(content: bytes) -> tuple[None, bytes]:
    return None, bytes(2**30)[:1]


def crash(content: bytes) -> tuple[None, bytes]:
    os.kill(os.getpid(), signal.SIGSEGV)
    return None, b""


def clean(content: bytes, longest_px: int) -> tuple[None, bytes]:
    """As a scan is asked for, of a library that falls over."""
    return crash(content)


def forever(content: bytes) -> tuple[None, bytes]:
    threading.Event().wait()
    return None, b""


def alone(content: bytes, mark: str) -> tuple[bool, bytes]:
    """Whether nobody else was at work meanwhile: the mark is there for as long as somebody is."""
    try:
        os.close(os.open(mark, os.O_CREAT | os.O_EXCL))
    except FileExistsError:
        return False, b""
    total = sum(range(200_000))
    os.unlink(mark)
    return total > 0, b""


def broken(content: bytes) -> tuple[Any, bytes]:
    raise ZeroDivisionError
