"""The process that opens pictures: reads what is asked of it from standard input and answers on standard output.

Started by `one_at_a_time`, which also ends it. It limits its own memory before it opens anything, knows no database
and no settings, and gives nothing back but JSON and bytes: if a picture took it over, it could only lie about itself.
A message is two lengths, then that many bytes of JSON and of picture.
"""

from __future__ import annotations

import json
import resource
import struct
import sys
from importlib import import_module
from typing import Any, BinaryIO

from dispensing.fitting.photos import PhotoRefused

LENGTHS = struct.Struct(">II")
# A photo of the most pixels taken needs some 450 MB, libraries and their code included.
MOST_MEMORY = 768 * 2**20
TOO_MUCH_MEMORY = "The picture takes more memory to open than any photo or scan does. Save it as a JPEG and send that."


def main() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    asks, answers = sys.stdin.buffer, sys.stdout.buffer
    sys.stdout = sys.stderr  # what a library prints is no answer
    while (message := receive(asks)) is not None:
        send(answers, *_answer(*message))


def _answer(asked: Any, content: bytes) -> tuple[dict[str, Any], bytes]:
    try:
        module, _, name = asked["job"].partition(":")
        facts, blob = getattr(import_module(module), name)(content, **asked["told"])
    except PhotoRefused as refused:
        return {"refused": str(refused)}, b""
    except MemoryError:
        return {"refused": TOO_MUCH_MEMORY}, b""
    return {"facts": facts}, blob


def send(stream: BinaryIO, said: dict[str, Any], blob: bytes) -> None:
    text = json.dumps(said).encode()
    stream.write(LENGTHS.pack(len(text), len(blob)))
    stream.write(text)
    stream.write(blob)
    stream.flush()


def receive(stream: BinaryIO) -> tuple[Any, bytes] | None:
    """The next message, or None where the stream ends."""
    lengths = stream.read(LENGTHS.size)
    if len(lengths) < LENGTHS.size:
        return None
    of_text, of_blob = LENGTHS.unpack(lengths)
    text, blob = stream.read(of_text), stream.read(of_blob)
    if len(text) < of_text or len(blob) < of_blob:
        return None
    return json.loads(text), blob


if __name__ == "__main__":
    main()
