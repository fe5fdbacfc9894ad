"""What the commands that read files say: reports and faults as lines, and exit codes. It must never know Django."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from dispensing.documents import InvalidDocument, Stream
from orders.documents.order_report import OrderReport

NO_STOP, STOP, NOT_VALID = 0, 1, 2

LINE_BREAKS = {ord(mark): f"\\u{ord(mark):04x}" for mark in "\x85\u2028\u2029"}
"""Characters that JSON leaves unescaped but many line readers take for the end of a line."""


def line(report: OrderReport) -> str:
    """The report as one line of JSON, with every unknown figure as null."""
    return one_line(plain(report))


def one_line(values: Any) -> str:
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
    complain(path, map(str, invalid.faults), stderr)


def complain(path: str | Path, faults: Iterable[str], stderr: Stream) -> None:
    for fault in faults:
        stderr.write(f"{path}: {fault}\n")
