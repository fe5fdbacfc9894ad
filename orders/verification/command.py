"""Judges one finished pair from files, one verdict to a line, for a lab or a script without the website.

It reads the files and writes to the streams that it is given, and nothing else. It must never know Django.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from dispensing.documents import Document, InvalidDocument, Stream, read
from orders.documents import finished_pair, lens_catalogue
from orders.documents.finished_pair import FinishedReadings, FinishedVerdict, Verdict
from orders.documents.inside_pdf import read_order_file
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder
from orders.rules.command import one_line, stated, tell
from orders.verification.verdict import verify

EXIT_CODES: Final[dict[Verdict, int]] = {"accept": 0, "return": 1, "measure_again": 3}
NOT_VALID = 2


def run(
    order_path: str | Path,
    readings_path: str | Path,
    standard: str,
    stdout: Stream,
    stderr: Stream,
    catalogue_path: str | Path | None = None,
) -> int:
    """Write the ``finished-verdict/1`` to `stdout`, and one line for each fault of a file to `stderr`.

    The order is a file of JSON, or a lab-order PDF with the order inside.
    Returns 0 to accept the pair, 1 to return it, 3 to measure it again, and 2 if a file is not valid.
    """
    order = _order(order_path, stderr)
    readings = _read(FinishedReadings, readings_path, finished_pair.READINGS_FORMAT, stderr)
    catalogue = None
    if catalogue_path is not None:
        catalogue = _read(LensCatalogue, catalogue_path, lens_catalogue.FORMAT, stderr)
    if order is None or readings is None or (catalogue is None and catalogue_path is not None):
        return NOT_VALID
    verdict = verify(order, readings, standard, catalogue)
    stdout.write(line(verdict) + "\n")
    return EXIT_CODES[verdict.verdict]


def line(verdict: FinishedVerdict) -> str:
    """The verdict as one line of JSON."""
    return one_line(plain(verdict))


def plain(verdict: FinishedVerdict) -> dict[str, object]:
    """The verdict as JSON values, in the form used wherever the product gives it out."""
    values: dict[str, object] = stated(verdict.model_dump(mode="json"))
    return values


def _order(path: str | Path, stderr: Stream) -> LensOrder | None:
    try:
        return read_order_file(path)
    except InvalidDocument as invalid:
        tell(path, invalid, stderr)
        return None


def _read(model: type[Document], path: str | Path, format_name: str, stderr: Stream) -> Document | None:
    try:
        return read(model, path, format_name=format_name)
    except InvalidDocument as invalid:
        tell(path, invalid, stderr)
        return None
