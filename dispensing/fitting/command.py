"""What the ``measure_fitting`` command does, free of Django: files in, one line of JSON out per file.

It reads files and writes to the two streams it is given; it must never know about a database or a server.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from dispensing.documents import InvalidDocument, Stream
from dispensing.fitting.documents import Fitting, FittingPoints, read_points
from dispensing.fitting.several import measure_sheet

EXIT_DONE = 0
EXIT_INVALID = 2


def run(paths: Iterable[str], stdout: Stream, stderr: Stream, *, combine: bool = False) -> int:
    """Measure each file; returns the exit code: 2 if any file was not a valid ``fitting-points/1``, else 0.

    A valid file gives one JSON line on ``stdout``; an invalid one gives one line per fault on ``stderr``
    (``file: $.path: message``) and nothing on ``stdout``, and the remaining files are still measured. ``combine``:
    files with the same ``sheet`` are measured together and give one line.
    """
    read, exit_code = _read(paths, stderr)
    for sheet, files in _sheets(read) if combine else ((None, {path: points}) for path, points in read):
        fitting = measure_sheet(tuple(files.values())).fitting
        named = {"file": next(iter(files))} if sheet is None else {"sheet": sheet, "files": tuple(files)}
        stdout.write(json_line(fitting.model_copy(update=named)) + "\n")
    return exit_code


def _read(paths: Iterable[str], stderr: Stream) -> tuple[list[tuple[str, FittingPoints]], int]:
    read, exit_code = [], EXIT_DONE
    for path in paths:
        try:
            read.append((path, read_points(path)))
        except InvalidDocument as error:
            exit_code = EXIT_INVALID
            for fault in error.faults:
                stderr.write(f"{path}: {fault}\n")
    return read, exit_code


def _sheets(read: Iterable[tuple[str, FittingPoints]]) -> Iterator[tuple[str | None, dict[str, FittingPoints]]]:
    """Each sheet with its files, in the order of its first file; a file without a sheet stands alone."""
    sheets: dict[str, dict[str, FittingPoints]] = {}
    for path, points in read:
        sheets.setdefault(path if points.sheet is None else f"sheet {points.sheet}", {})[path] = points
    for files in sheets.values():
        yield next(iter(files.values())).sheet, files


def json_line(fitting: Fitting) -> str:
    """The fitting as one line of JSON: figures that are not known are null, and an unused ``extra`` is left out."""
    return json.dumps(plain(fitting), allow_nan=False)


def plain(fitting: Fitting) -> dict[str, Any]:
    """The fitting as JSON values."""
    values: dict[str, Any] = _without_unused_extra(fitting.model_dump(mode="json"))
    unused = ("sheet", "files") if fitting.files is None else ("file",)
    return {key: value for key, value in values.items() if key not in unused}


def _without_unused_extra(value: Any) -> Any:
    if isinstance(value, dict):
        return {
            key: _without_unused_extra(item) for key, item in value.items() if not (key == "extra" and item is None)
        }
    return value if not isinstance(value, list) else [_without_unused_extra(item) for item in value]
