"""The child process: a file on standard input, a line of JSON for each page on standard output.

It limits its own memory and time before it opens the file; whoever starts it sets a deadline besides. With
``--pictures`` each line also holds the page, upright, as JPEG.
"""

from __future__ import annotations

import base64
import json
import resource
import sys
from typing import Any

MOST_MEMORY = 1400 * 2**20
"""Of data; the program needs less than half of it for a page, and the rest is never touched."""
MOST_SECONDS = 120
JPEG_QUALITY = 80
SHOWN_PX = 2000
NEEDS_TOO_MUCH = "cannot be read: it needs more memory than any prescription does"


def main(arguments: list[str]) -> None:
    _limit(resource.RLIMIT_DATA, MOST_MEMORY)
    _limit(resource.RLIMIT_CPU, MOST_SECONDS)
    from dispensing.recognition.pages import NotReadable, pages_of

    try:
        for page in pages_of(sys.stdin.buffer.read()):
            _say(_page(page, "--pictures" in arguments))
    except NotReadable as fault:
        _say({"problem": str(fault)})
    except MemoryError:
        _say({"problem": NEEDS_TOO_MUCH})


def _limit(which: int, most: int) -> None:
    # A limit that is already lower stays; a system without this one has the deadline.
    try:
        _, hard = resource.getrlimit(which)
        most = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(which, (most, most))
    except (OSError, ValueError):
        return


def _say(what: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(what) + "\n")
    sys.stdout.flush()


def _page(page: Any, with_picture: bool) -> dict[str, Any]:
    from dispensing.recognition.recogniser import recognise

    picture, turns, words = page.picture, 0, page.words
    if words is None:
        words, picture, turns = recognise(picture, page.number)
    said = {
        "page": page.number,
        "of": page.of,
        "size": [picture.shape[1], picture.shape[0]],
        "file_size": page.file_size,
        "turns": turns,
        "mean": float(page.picture.mean()),
        "words": [[word.text, word.box, word.confidence, word.place, word.crossed] for word in words],
    }
    return said | ({"picture": _as_jpeg(picture)} if with_picture else {})


def _as_jpeg(picture: Any) -> str:
    import cv2

    ratio = min(1.0, SHOWN_PX / max(picture.shape[:2]))
    small = cv2.resize(picture, None, fx=ratio, fy=ratio, interpolation=cv2.INTER_AREA)
    _, content = cv2.imencode(".jpg", small, [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])
    return base64.b64encode(content.tobytes()).decode()


if __name__ == "__main__":
    main(sys.argv[1:])
