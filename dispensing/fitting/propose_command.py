"""What the ``propose_marks`` command does, free of Django: photos in, one ``photo-proposal/1`` out per photo."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path

from dispensing.documents import Stream
from dispensing.fitting.photos import PhotoRefused, upright_pixels
from dispensing.fitting.seeing.networks import NetworksMissing
from dispensing.fitting.seeing.proposal import document_of, propose
from dispensing.fitting.seeing.whereabouts import FrameSizes

EXIT_DONE = 0
EXIT_INVALID = 2


def run(paths: Iterable[str], frame: FrameSizes | None, stdout: Stream, stderr: Stream) -> int:
    """Propose marks on each photo; returns the exit code: 2 if any file was no photo that can be read, else 0.

    A photo gives one JSON line on ``stdout``, another file one line on ``stderr``; the remaining ones are still read.
    """
    exit_code = EXIT_DONE
    for path in paths:
        try:
            photo = upright_pixels(Path(path).read_bytes())
            proposal = propose(photo, frame)
        except (OSError, PhotoRefused, NetworksMissing) as fault:
            exit_code = EXIT_INVALID
            told = fault.strerror or str(fault) if isinstance(fault, OSError) else fault
            stderr.write(f"{path}: {told}\n")
            continue
        document = document_of(proposal, photo.shape[1], photo.shape[0], path)
        values = document.model_dump(mode="json", exclude={"right": {"extra"}, "left": {"extra"}})
        if values["extra"] is None:
            del values["extra"]
        stdout.write(json.dumps(values) + "\n")
    return exit_code
