"""Lists as CSV for spreadsheets, a line at a time. Pure: it knows neither what is listed nor where it goes.

No cell can be taken for a formula, and a minus is one that a spreadsheet reads.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

MINUS = "\N{MINUS SIGN}"
# What a spreadsheet takes for the start of a formula, in the ordinary width and in the full one.
STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
# By which a spreadsheet knows that a file is UTF-8.
UTF_8 = "\N{ZERO WIDTH NO-BREAK SPACE}"


class _Line:
    """What a CSV writer writes to: it hands back each line instead of keeping it."""

    def write(self, line: str) -> str:
        return line


def csv_lines(heads: Sequence[str], rows: Iterable[Sequence[Any]]) -> Iterator[str]:
    """The file line by line, the headings first. ``rows`` may be as long as they like: none is kept. None is empty."""
    writer = csv.writer(_Line())
    yield UTF_8 + str(writer.writerow([defused(head) for head in heads]))
    for row in rows:
        yield str(writer.writerow([defused(cell) for cell in row]))


def defused(cell: Any) -> str:
    """The cell as text. A text that would begin a formula gets an apostrophe, unless it is a figure with its unit."""
    text = "" if cell is None else str(cell).replace(MINUS, "-")
    return f"'{text}" if text.lstrip(" ").startswith(STARTS_A_FORMULA) and not _is_figure(text) else text


def _is_figure(text: str) -> bool:
    """A sign and digits alone, with a unit of letters or without, as in ``+0.06 D``."""
    number, _, unit = text.partition(" ")
    return (
        number[:1] in ("+", "-")
        and number[1:].replace(".", "", 1).isdecimal()
        and (unit.isalpha() or unit in ("", "%", "°"))
    )
