"""Starts the child that recognises a file, hears it out page by page, and ends it if it takes too long.

A child that dies, whatever the file did to it, is one sentence here.
"""

from __future__ import annotations

import base64
import json
import subprocess
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from dispensing.prescribing.paper.words import Box, Word

CHILD = (sys.executable, "-m", "dispensing.recognition.child")
ROOT = Path(__file__).resolve().parents[2]
MOST_SECONDS = 90
MOST_BYTES = 60_000_000
GAVE_UP = "cannot be read: the program that opens it gave up"
TOO_SLOW = f"cannot be read in {MOST_SECONDS} seconds"
DARK_BELOW = 60
"""Mean brightness, 0 to 255."""


class Unreadable(ValueError):
    """The file cannot be read; the message reads on from its name."""


@dataclass(frozen=True)
class PageRead:
    """One page. ``words`` lie on the upright page of ``width`` by ``height`` px; ``turns``: quarter turns to get there.

    ``file_width``, ``file_height``: of the page in the file itself. ``jpeg``: the upright page, if asked for.
    """

    number: int
    of: int
    width: float
    height: float
    file_width: float
    file_height: float
    turns: int
    brightness: float
    words: tuple[Word, ...]
    jpeg: bytes = b""

    def in_file(self, box: Box) -> Box:
        """A box of the upright page where it is on the page in the file, px of the file."""
        left, top, wide, high = box
        full_w, full_h = self.width, self.height
        for _ in range(self.turns):
            left, top, wide, high = full_h - top - high, left, high, wide
            full_w, full_h = full_h, full_w
        ratio = self.file_width / full_w
        return (left * ratio, top * ratio, wide * ratio, high * ratio)


@dataclass
class Recognised:
    """All pages read, and what there is to say about the file."""

    pages: list[PageRead] = field(default_factory=list)

    @property
    def words(self) -> list[Word]:
        return [word for page in self.pages for word in page.words]

    @property
    def words_in_file(self) -> list[Word]:
        """The same with their boxes on the pages of the file; where they lie to each other stays as recognised."""
        return [
            replace(word, box=page.in_file(word.box), place=word.laid) for page in self.pages for word in page.words
        ]

    @property
    def said(self) -> str:
        """What a person should know of the file besides its words; empty if there is nothing."""
        pages = self.pages
        if pages and pages[0].of > len(pages):
            return f"Only the first {len(pages)} of {pages[0].of} pages were read."
        if not self.words:
            dark = bool(pages) and min(page.brightness for page in pages) < DARK_BELOW
            return f"Nothing printed was found{': it is very dark. Take it once more in better light' if dark else ''}."
        return ""


def recognise_file(
    content: bytes, *, pictures: bool = False, told: Callable[[int, int], None] = lambda page, of: None
) -> Recognised:
    """Read a file in a child. ``told``: called after each page with its number and how many there are.

    Raises Unreadable.
    """
    if not content:
        raise Unreadable("is empty")
    if len(content) > MOST_BYTES:
        raise Unreadable(f"has {len(content) / 1e6:.0f} MB; at most {MOST_BYTES / 1e6:.0f} MB are read")
    command = [*CHILD, *(["--pictures"] if pictures else [])]
    child = subprocess.Popen(  # noqa: S603 - our own module, and the file goes to its standard input
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, cwd=ROOT
    )
    late = threading.Event()

    def end() -> None:
        late.set()
        child.kill()

    timer = threading.Timer(MOST_SECONDS, end)
    timer.start()
    try:
        return _hear(child, content, told, late)
    except Unreadable as fault:
        raise Unreadable(TOO_SLOW if late.is_set() else str(fault)) from None
    finally:
        timer.cancel()
        child.kill()
        child.wait()


def _hear(
    child: subprocess.Popen[bytes], content: bytes, told: Callable[[int, int], None], late: threading.Event
) -> Recognised:
    """All that the child says; of one that ran out of time, the pages that it had read by then."""
    assert child.stdin is not None
    assert child.stdout is not None
    feeder = threading.Thread(target=_feed, args=(child.stdin, content), daemon=True)
    feeder.start()
    read = Recognised()
    for line in child.stdout:
        try:
            said = json.loads(line)
        except ValueError:
            raise Unreadable(GAVE_UP) from None
        if "problem" in said:
            raise Unreadable(said["problem"])
        read.pages.append(_page(said))
        told(said["page"], said["of"])
    ended_well = child.wait() == 0 or late.is_set()
    if not ended_well or not read.pages:
        raise Unreadable(GAVE_UP)
    return read


def _feed(pipe: Any, content: bytes) -> None:
    try:
        pipe.write(content)
        pipe.close()
    except OSError:
        return


def _page(said: dict[str, Any]) -> PageRead:
    words = tuple(
        Word(text, tuple(box), confidence, said["page"], tuple(place) if place else None, crossed)
        for text, box, confidence, place, crossed in said["words"]
    )
    (width, height), (file_width, file_height) = said["size"], said["file_size"]
    return PageRead(
        said["page"], said["of"], width, height, file_width, file_height, said["turns"], said["mean"], words,
        base64.b64decode(said.get("picture", "")),
    )  # fmt: skip
