"""Compares the lenses of catalogue files for one order file, one ``lens-option/1`` to a line, without the website.

It reads the files and writes to the streams that it is given, and nothing else. It must never know Django.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from dispensing.documents import Document, InvalidDocument, Stream, read
from orders.documents import lens_catalogue, lens_order
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder
from orders.options.lenses.comparison import LensRow, compare, not_offered
from orders.rules.command import NO_STOP, NOT_VALID, one_line, stated, tell


def run(
    order_path: str | Path,
    catalogue_paths: Sequence[str | Path],
    stdout: Stream,
    stderr: Stream,
    *,
    only_makeable: bool = False,
    today: date | None = None,
) -> int:
    """Write a line for each lens to `stdout`, and a line for each fault, and for what cannot be compared, to `stderr`.

    only_makeable: leave out the lenses that the check stops. Returns 0, or 2 if a file is not valid; the catalogues
    that are valid are still compared, unless the order is not.
    """
    order = _read(LensOrder, order_path, lens_order.FORMAT, stderr)
    found = [(path, _read(LensCatalogue, path, lens_catalogue.FORMAT, stderr)) for path in catalogue_paths]
    catalogues = [(path, catalogue) for path, catalogue in found if catalogue is not None]
    if order is None:
        return NOT_VALID
    for path, catalogue in catalogues:
        for said in not_offered(catalogue):
            stderr.write(f"{path}: {said}\n")
    rows = compare(order, [catalogue for _, catalogue in catalogues], today=today)
    for row in rows_wanted(rows, only_makeable):
        stdout.write(one_line(plain(row)) + "\n")
    return NO_STOP if len(catalogues) == len(found) else NOT_VALID


def rows_wanted(rows: Iterable[LensRow], only_makeable: bool) -> Iterator[LensRow]:
    return (row for row in rows if row.can_be_made or not only_makeable)


def plain(row: LensRow) -> dict[str, Any]:
    """The row as JSON values, in the form used wherever the product gives it out; what is unknown is null."""
    document = row.document().model_dump(mode="json")
    extra = document.pop("extra")
    return {**stated(document), "extra": extra}


def _read(model: type[Document], path: str | Path, format_name: str, stderr: Stream) -> Document | None:
    try:
        return read(model, path, format_name=format_name)
    except InvalidDocument as invalid:
        tell(path, invalid, stderr)
        return None
