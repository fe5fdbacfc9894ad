"""Compares the lenses of catalogue files for one order file, one ``lens-option/1`` to a line, without the website.

It reads the files and writes to the streams that it is given, and nothing else. It must never know Django.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from dispensing.documents import Document, InvalidDocument, Stream, read
from orders.documents import lens_catalogue
from orders.documents.inside_pdf import read_order_file
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.price_list import FaultyRow, PriceList, read_prices
from orders.options.lenses.comparison import LensRow, compare, not_offered
from orders.rules.command import NO_STOP, NOT_VALID, one_line, stated, tell


def run(
    order_path: str | Path,
    catalogue_paths: Sequence[str | Path],
    stdout: Stream,
    stderr: Stream,
    *,
    only_makeable: bool = False,
    prices_path: str | Path | None = None,
    today: date | None = None,
) -> int:
    """Write a line for each lens to `stdout`, and a line for each fault, and for what cannot be compared, to `stderr`.

    only_makeable: leave out the lenses that the check stops. prices_path: the practice's own price list. Returns 0, or
    2 if a file is not valid; the catalogues that are valid are still compared, unless order or price list is not.
    """
    order = _valid(read_order_file, order_path, stderr)
    found = [(path, _valid(_catalogue, path, stderr)) for path in catalogue_paths]
    catalogues = [(path, catalogue) for path, catalogue in found if catalogue is not None]
    if order is None:
        return NOT_VALID
    for path, catalogue in catalogues:
        for said in not_offered(catalogue):
            stderr.write(f"{path}: {said}\n")
    own = _prices(prices_path, stderr)
    if own is not None and own.faults:
        return NOT_VALID
    rows = compare(order, [catalogue for _, catalogue in catalogues], today=today, own_prices=own)
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


def _prices(path: str | Path | None, stderr: Stream) -> PriceList | None:
    if path is None:
        return None
    try:
        found = read_prices(Path(path).read_bytes())
    except OSError as error:
        found = PriceList((), (FaultyRow(0, f"cannot be read: {error.strerror}"),))
    for fault in found.faults:
        stderr.write(f"{path}: {fault}\n")
    return found


def _catalogue(path: str | Path) -> LensCatalogue:
    return read(LensCatalogue, path, format_name=lens_catalogue.FORMAT)


def _valid(reading: Callable[[str | Path], Document], path: str | Path, stderr: Stream) -> Document | None:
    try:
        return reading(path)
    except InvalidDocument as invalid:
        tell(path, invalid, stderr)
        return None
