"""Compares the frames of a stock file for one order file, one ``frame-option/1`` to a line, without the website.

It reads the files and writes to the streams that it is given, and nothing else. It must never know Django.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from pathlib import Path

from dispensing.documents import Document, InvalidDocument, Stream, read
from orders.documents import frame_stock, lens_catalogue
from orders.documents.frame_stock import FrameStock
from orders.documents.inside_pdf import read_order_file
from orders.documents.lens_catalogue import LensCatalogue
from orders.options.frames.comparison import FrameRow, compare_frames
from orders.options.frames.document import plain
from orders.rules.command import NO_STOP, NOT_VALID, one_line, tell

NO_LENS = "$.lenses: no lens is ordered, so no frame can be compared for one"


def run(
    order_path: str | Path,
    catalogue_path: str | Path,
    frames_path: str | Path,
    stdout: Stream,
    stderr: Stream,
    *,
    only_makeable: bool = False,
    today: date | None = None,
) -> int:
    """Write a line for each frame to `stdout`, in the sequence of the file, and one for each fault to `stderr`.

    only_makeable: leave out the frames that the check stops. Returns 0, or 2 if a file is not valid or the order has
    no lens; then nothing is compared.
    """
    order = _valid(read_order_file, order_path, stderr)
    catalogue = _valid(_catalogue, catalogue_path, stderr)
    stock = _valid(_stock, frames_path, stderr)
    if order is not None and not order.ordered_eyes:
        stderr.write(f"{order_path}: {NO_LENS}\n")
        return NOT_VALID
    if order is None or catalogue is None or stock is None:
        return NOT_VALID
    for row in rows_wanted(compare_frames(order, catalogue, stock.frames, today=today), only_makeable):
        stdout.write(one_line(plain(row)) + "\n")
    return NO_STOP


def rows_wanted(rows: Iterable[FrameRow], only_makeable: bool) -> Iterator[FrameRow]:
    return (row for row in rows if row.can_be_made or not only_makeable)


def _catalogue(path: str | Path) -> LensCatalogue:
    return read(LensCatalogue, path, format_name=lens_catalogue.FORMAT)


def _stock(path: str | Path) -> FrameStock:
    return read(FrameStock, path, format_name=frame_stock.FORMAT)


def _valid(reading: Callable[[str | Path], Document], path: str | Path, stderr: Stream) -> Document | None:
    try:
        return reading(path)
    except InvalidDocument as invalid:
        tell(path, invalid, stderr)
        return None
