"""Checks order files against one catalogue file, one report to a line, for a lab or a script without the website.

It reads the files and writes to the streams that it is given, and nothing else. It must never know Django.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path

from dispensing.documents import InvalidDocument, Stream, read
from orders.documents import lens_catalogue
from orders.documents.lens_catalogue import LensCatalogue
from orders.rules.command import NO_STOP, NOT_VALID, complain, one_line, tell
from orders.rules.earlier_orders import EarlierOrders
from orders.rules.judging_files import Finish, Judge, Judged, as_it_is, in_turn
from orders.rules.order_sources import sources


def run(
    orders: Iterable[str | Path],
    catalogue_path: str | Path,
    stdout: Stream,
    stderr: Stream,
    finish: Finish = as_it_is,
    today: date | None = None,
    *,
    jobs: int = 1,
    named: bool = False,
) -> int:
    """Write one compact ``order-report/1`` for each valid order to `stdout`, and one line for each fault to `stderr`.

    An order is a file of JSON, or a lab-order PDF with the order inside; of a folder each such file is one, and of
    standard input each line may be one. Each report is written as soon as it is made.
    Each order is compared with its patient's earlier ones in the same call. `finish` may add to a report. `today`: the
    day of an order without a date. `jobs`: processes that share the work; what is written is the same. `named`: a line
    for every order, valid or not, with the name of its file and its report or its faults.
    Returns 0 if no order has a stop, 1 if any has, and 2 if any is not valid or there is none; valid orders are still
    reported, unless the catalogue itself is not valid.
    """
    try:
        catalogue = read(LensCatalogue, catalogue_path, format_name=lens_catalogue.FORMAT)
    except InvalidDocument as invalid:
        tell(catalogue_path, invalid, stderr)
        catalogue = None
    judge = Judge(catalogue, finish, today)
    code = NO_STOP if catalogue is not None else NOT_VALID
    told = 0
    with EarlierOrders() as earlier:
        for judged in in_turn(judge, sources(orders), jobs):
            told += 1
            judged = judge.beside(judged, earlier.of(judged.patient))
            earlier.keep(judged.patient, judged.text)
            code = max(code, _told(judged, stdout, stderr, named))
    if not told:
        stderr.write("There is no order: no file ends in .json or .pdf.\n")
    return code if told else NOT_VALID


def _told(judged: Judged, stdout: Stream, stderr: Stream, named: bool) -> int:
    """Write what became of an order; return what it makes of the exit code."""
    complain(judged.name, judged.faults, stderr)
    if named:
        outcome = f'"faults":{one_line(list(judged.faults))}' if judged.faults else f'"report":{judged.line or "null"}'
        stdout.write(f'{{"file":{one_line(judged.name)},{outcome}}}\n')
    elif judged.line:
        stdout.write(judged.line + "\n")
    stdout.flush()
    return judged.code
