"""The orders that a command is given, one after another: files, what lies in folders, or a stream of JSON lines.

Nothing is read ahead, so that the first is judged at once and a million need no more memory than one. Pure.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from orders.documents.inside_pdf import file_content

STANDARD_INPUT = "/dev/stdin"
ENDINGS = (".json", ".pdf")


@dataclass(frozen=True)
class Source:
    """``name``: as complaints call it. ``content``: None where it is still to be read from the file of that name."""

    name: str
    content: bytes | None = None

    def read(self) -> bytes:
        """Raises :class:`dispensing.documents.InvalidDocument` for a file that cannot be read."""
        return file_content(self.name) if self.content is None else self.content


def sources(given: Iterable[str | Path]) -> Iterator[Source]:
    """Each order given: a file, every JSON and PDF file in a folder and below it, or standard input.

    A folder's files come in the order in which the system gives them, for to sort them is to hold all their names.
    """
    for one in given:
        if str(one) == STANDARD_INPUT:
            yield from _standard_input()
        elif os.path.isdir(one):
            yield from _in_folder(one)
        else:
            yield Source(str(one))


def _in_folder(folder: str | Path) -> Iterator[Source]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                yield from _in_folder(entry.path)
            elif entry.name.lower().endswith(ENDINGS):
                yield Source(entry.path)


def _standard_input() -> Iterator[Source]:
    """One order written over several lines, or a PDF; or where its first line is a whole object, an order a line."""
    with open(STANDARD_INPUT, "rb") as stream:
        first = stream.readline()
        if not (first.lstrip(b"\xef\xbb\xbf \t").startswith(b"{") and first.rstrip().endswith(b"}")):
            yield Source(STANDARD_INPUT, first + stream.read())
            return
        yield Source(f"{STANDARD_INPUT}:1", first)
        for number, line in enumerate(stream, 2):
            if line.strip():
                yield Source(f"{STANDARD_INPUT}:{number}", line)
