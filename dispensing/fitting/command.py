"""What the ``measure_fitting`` command does, free of Django: files in, one line of JSON out per file.

It reads files and writes to the two streams it is given; it must never know about a database or a server.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from dispensing.documents import InvalidDocument, Stream
from dispensing.fitting.documents import Fitting, read_points
from dispensing.fitting.several import measure_sheet

EXIT_DONE = 0
EXIT_INVALID = 2


def run(paths: Iterable[str], stdout: Stream, stderr: Stream) -> int:
    """Measure each file; returns the exit code: 2 if any file was not a valid ``fitting-points/1``, else 0.

    A valid file gives one JSON line on ``stdout``; an invalid one gives one line per fault on ``stderr``
    (``file: $.path: message``) and nothing on ``stdout``, and the remaining files are still measured.
    """
    exit_code = EXIT_DONE
    for path in paths:
        try:
            points = read_points(path)
        except InvalidDocument as error:
            exit_code = EXIT_INVALID
            for fault in error.faults:
                stderr.write(f"{path}: {fault}\n")
        else:
            fitting = measure_sheet((points,)).fitting
            stdout.write(json_line(fitting.model_copy(update={"file": path})) + "\n")
    return exit_code


def json_line(fitting: Fitting) -> str:
    """The fitting as one line of JSON: figures that are not known are null, and an unused ``extra`` is left out."""
    return json.dumps(plain(fitting), allow_nan=False)


def plain(fitting: Fitting) -> dict[str, Any]:
    """The fitting as JSON values."""
    values: dict[str, Any] = _without_unused_extra(fitting.model_dump(mode="json"))
    return values


def _without_unused_extra(value: Any) -> Any:
    if isinstance(value, dict):
        return {
            key: _without_unused_extra(item) for key, item in value.items() if not (key == "extra" and item is None)
        }
    return value if not isinstance(value, list) else [_without_unused_extra(item) for item in value]
