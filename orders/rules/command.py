"""Checks many order files against one catalogue file, one report to a line, for a lab or a script without the website.

It reads the files and writes to the streams that it is given, and nothing else. It must never know Django.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from dispensing.documents import InvalidDocument, Stream, read
from orders.documents import lens_catalogue
from orders.documents.inside_pdf import read_order_file
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder
from orders.documents.order_report import OrderReport
from orders.rules.check import check

NO_STOP, STOP, NOT_VALID = 0, 1, 2


Finish = Callable[[LensOrder, LensCatalogue, Sequence[LensOrder], OrderReport], OrderReport]


def as_it_is(
    order: LensOrder, catalogue: LensCatalogue, others: Sequence[LensOrder], report: OrderReport
) -> OrderReport:
    """The report unchanged, as the check made it."""
    return report


def run(
    order_paths: Sequence[str | Path],
    catalogue_path: str | Path,
    stdout: Stream,
    stderr: Stream,
    finish: Finish = as_it_is,
    today: date | None = None,
) -> int:
    """Write one compact ``order-report/1`` for each valid order to `stdout`, and one line for each fault to `stderr`.

    An order is a file of JSON, or a lab-order PDF with the order inside.
    Each order is compared with the others in the same call for duplicates. `finish` may add to a report. `today`: the
    day of an order without a date. Returns 0 if no order has a stop, 1 if any has, and 2 if any file is not valid;
    valid orders are still reported, unless the catalogue itself is not valid.
    """
    try:
        catalogue = read(LensCatalogue, catalogue_path, format_name=lens_catalogue.FORMAT)
    except InvalidDocument as invalid:
        tell(catalogue_path, invalid, stderr)
        catalogue = None
    orders: list[LensOrder] = []
    all_valid = catalogue is not None
    for path in order_paths:
        try:
            orders.append(read_order_file(path))
        except InvalidDocument as invalid:
            tell(path, invalid, stderr)
            all_valid = False
    stopped = catalogue is not None and _report(orders, catalogue, stdout, finish, today)
    if not all_valid:
        return NOT_VALID
    return STOP if stopped else NO_STOP


def _report(
    orders: Sequence[LensOrder], catalogue: LensCatalogue, stdout: Stream, finish: Finish, today: date | None
) -> bool:
    """Write one line for each order; return whether any has a stop."""
    stopped = False
    for order, others in _with_others_of_the_patient(orders):
        report = finish(order, catalogue, others, check(order, catalogue, others, today=today))
        stopped = stopped or report.verdict == "stop"
        stdout.write(line(report) + "\n")
    return stopped


def _with_others_of_the_patient(orders: Sequence[LensOrder]) -> list[tuple[LensOrder, list[LensOrder]]]:
    """Each order with its patient's other orders: thousands of files must not all be compared with one another."""
    by_patient: dict[str | None, list[LensOrder]] = {}
    for order in orders:
        by_patient.setdefault(order.patient.reference, []).append(order)
    result = []
    for order in orders:
        reference = order.patient.reference
        same_patient = by_patient[reference] if reference is not None else []
        result.append((order, [other for other in same_patient if other is not order]))
    return result


LINE_BREAKS = {ord(mark): f"\\u{ord(mark):04x}" for mark in "\x85\u2028\u2029"}
"""Characters that JSON leaves unescaped but many line readers take for the end of a line."""


def line(report: OrderReport) -> str:
    """The report as one line of JSON, with every unknown figure as null."""
    return one_line(plain(report))


def one_line(values: dict[str, Any]) -> str:
    """JSON values as one line of text."""
    return json.dumps(values, ensure_ascii=False, separators=(",", ":")).translate(LINE_BREAKS)


def plain(report: OrderReport) -> dict[str, Any]:
    """The report as JSON values, in the form used wherever the product gives it out."""
    values: dict[str, Any] = stated(report.model_dump(mode="json"))
    return values


UNSTATED = frozenset({"extra", "liftable", "confirmed_by", "reason", "as_made"})


def stated(value: Any) -> Any:
    """The values without empty optional keys."""
    if isinstance(value, dict):
        return {k: stated(v) for k, v in value.items() if v is not None or k not in UNSTATED}
    return [stated(item) for item in value] if isinstance(value, list) else value


def tell(path: str | Path, invalid: InvalidDocument, stderr: Stream) -> None:
    """One line for each fault of a file."""
    for fault in invalid.faults:
        stderr.write(f"{path}: {fault}\n")
