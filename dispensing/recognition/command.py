"""What the ``read_prescription`` command does, free of Django: files in, one line of JSON out per file."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path

from dispensing.documents import Stream
from dispensing.prescribing.paper.document import document
from dispensing.prescribing.paper.reading import read_paper
from dispensing.recognition.runner import Unreadable, recognise_file

EXIT_DONE = 0
EXIT_INVALID = 2
NO_PRESCRIPTION = "No prescription was found on it."


def run(paths: Iterable[str], stdout: Stream, stderr: Stream, month_first: bool | None = None) -> int:
    """Read each file; returns the exit code: 2 if any file was no picture or PDF that can be read, else 0.

    A file that can be read gives one JSON line on ``stdout``, also if nothing is found on it; what there is to say of
    it, or what is wrong with it, is one line on ``stderr``. The remaining files are still read.
    """
    exit_code = EXIT_DONE
    for path in paths:
        try:
            recognised = recognise_file(_content(path))
        except Unreadable as fault:
            exit_code = EXIT_INVALID
            stderr.write(f"{path} {fault}.\n".replace("..\n", ".\n"))
            continue
        reading = read_paper(recognised.words_in_file, month_first)
        stdout.write(json.dumps(document(reading, path), ensure_ascii=False, allow_nan=False) + "\n")
        said = [recognised.said] if recognised.said else []
        if reading.is_empty and recognised.words:
            said.append(NO_PRESCRIPTION)
        if said:
            stderr.write(f"{path}: {' '.join(said)}\n")
    return exit_code


def _content(path: str) -> bytes:
    try:
        return Path(path).read_bytes()
    except OSError as fault:
        raise Unreadable(f"cannot be opened: {fault.strerror}") from fault
