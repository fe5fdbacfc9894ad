"""Asks the child process for one picture at a time, on this whole machine, and puts up with whatever becomes of it.

A child that crashes or takes too long is ended, the picture is refused in words, and the next one gets a new child. The
turn is a lock on a file in the data folder, for several web processes have a child each and their memory adds up.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings

from dispensing.decoding.child import receive, send
from dispensing.fitting.photos import PhotoRefused

SECONDS_AT_MOST = 20
SECONDS_TO_WAIT_FOR_A_TURN = 30
PICTURES_OF_ONE_CHILD = 500
TURN = "one-picture-at-a-time"
BUSY = "Many pictures came at once and this one had no turn. Nothing of it was kept; send it again in a moment."
TOO_SLOW = "The picture takes too long to open. Save it as a JPEG and send that."
GAVE_UP = "The program that opens pictures gave up on this one. Save it as a JPEG and send that."

_here = threading.Lock()
_child: _Child | None = None


class _Child:
    """A running child of this very process."""

    def __init__(self) -> None:
        command = [sys.executable, "-m", "dispensing.decoding.child"]
        self.process = subprocess.Popen(  # noqa: S603 - our own module
            command, cwd=settings.BASE_DIR, stdin=subprocess.PIPE, stdout=subprocess.PIPE, close_fds=True
        )
        self.owner, self.asked, self.late = os.getpid(), 0, False

    @property
    def usable(self) -> bool:
        return self.owner == os.getpid() and self.process.poll() is None and self.asked < PICTURES_OF_ONE_CHILD

    def ask(self, said: dict[str, Any], content: bytes, seconds: float) -> tuple[Any, bytes] | None:
        """Its answer; None if it ended instead, by itself or because the time was up (`late`)."""
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.asked += 1
        watch = threading.Timer(seconds, self._time_is_up)
        watch.start()
        try:
            send(self.process.stdin, said, content)  # type: ignore[arg-type]  # Popen's own streams are binary
            return receive(self.process.stdout)  # type: ignore[arg-type]  # likewise
        except (OSError, ValueError):
            return None
        finally:
            watch.cancel()

    def _time_is_up(self) -> None:
        self.late = True
        self.process.kill()

    def end(self) -> None:
        if self.owner == os.getpid():
            self.process.kill()
            self.process.wait()
        for stream in (self.process.stdin, self.process.stdout):
            if stream is not None:
                with contextlib.suppress(OSError):
                    stream.close()


def in_child(job: str, content: bytes, **told: Any) -> tuple[Any, bytes]:
    """What the function ``job`` ("module:name") makes of a picture: facts (as JSON has them) and bytes.

    Raises PhotoRefused: the function's own, or because the picture cost too much, crashed the child or had no turn.
    """
    with _turn():
        child = _usable_child()
        answer = child.ask({"job": job, "told": told}, content, SECONDS_AT_MOST)
        if answer is None:
            _end(child)
            raise PhotoRefused(TOO_SLOW if child.late else GAVE_UP)
    said, blob = answer
    if "refused" in said:
        raise PhotoRefused(said["refused"])
    return said["facts"], blob


def _usable_child() -> _Child:
    global _child
    if _child is None or not _child.usable:
        if _child is not None:
            _child.end()
        _child = _Child()
    return _child


def _end(child: _Child) -> None:
    global _child
    child.end()
    _child = None


@contextlib.contextmanager
def _turn() -> Iterator[None]:
    deadline = time.monotonic() + SECONDS_TO_WAIT_FOR_A_TURN
    if not _here.acquire(timeout=SECONDS_TO_WAIT_FOR_A_TURN):
        raise PhotoRefused(BUSY)
    try:
        with _turn_of_the_machine(deadline):
            yield
    finally:
        _here.release()


@contextlib.contextmanager
def _turn_of_the_machine(deadline: float) -> Iterator[None]:
    try:
        file = os.open(Path(settings.DATA_DIR) / TURN, os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, 0o600)
    except OSError:
        yield  # on a disk that cannot be written to, nothing can be kept anyway
        return
    try:
        pause = threading.Event()
        while not _locked(file):
            if time.monotonic() >= deadline:
                raise PhotoRefused(BUSY)
            pause.wait(0.02)
        yield
    finally:
        os.close(file)


def _locked(file: int) -> bool:
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
