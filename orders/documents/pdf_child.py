"""Takes the attachments that look like orders out of a PDF; run as a script, in a process that may be killed.

A PDF from outside may be made to exhaust memory or time, also inside the C++ library that reads it. So this is
a program of its own: PDF on standard input, one JSON object on standard output. It limits itself before it reads, and
whoever starts it sets a deadline. It must import nothing of the project, whose start would cost more than the reading.
"""

from __future__ import annotations

import base64
import io
import json
import resource
import sys
import zlib
from typing import Any

MOST_MEMORY = 384 * 2**20
MOST_SECONDS = 20
MOST_ATTACHED = 4 * 2**20
MOST_ATTACHMENTS = 100
ORDER_NAME = "order.json"
SIGN_OF_AN_ORDER = b"lens-order/"


class TooMuch(ValueError):
    """More than any lab order holds."""


def main() -> None:
    _limit(resource.RLIMIT_AS, MOST_MEMORY)
    _limit(resource.RLIMIT_CPU, MOST_SECONDS)
    try:
        said = found_in(sys.stdin.buffer.read())
    except TooMuch as error:
        said = {"problem": str(error)}
    except MemoryError:
        said = {"problem": "needs more memory to be read than any lab order does"}
    print(json.dumps(said))


def _limit(which: int, most: int) -> None:
    # A limit that is already lower stays; a system without this one has the deadline.
    try:
        _, hard = resource.getrlimit(which)
        most = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(which, (most, most))
    except (OSError, ValueError):
        return


def found_in(content: bytes) -> dict[str, Any]:
    """The orders, each with its name, description and bytes, and the PDF's first identifier; or the ``problem``."""
    import pikepdf

    try:
        with pikepdf.open(io.BytesIO(content)) as pdf:
            first_id = bytes(pdf.trailer.ID[0]).decode("latin-1") if "/ID" in pdf.trailer else ""
            return {"orders": list(_orders(pdf)), "id": first_id}
    except pikepdf.PasswordError:
        return {"problem": "is locked with a password; ask for the file without one"}
    except pikepdf.PdfError:
        return {"problem": "is broken: it cannot be read as a PDF"}
    except (AttributeError, IndexError, KeyError, RuntimeError, TypeError, ValueError) as error:
        if isinstance(error, TooMuch):
            raise
        return {"problem": "is broken: what is attached to it cannot be read"}


def _orders(pdf: Any) -> Any:
    if len(pdf.attachments) > MOST_ATTACHMENTS:
        raise TooMuch(f"has more than {MOST_ATTACHMENTS} attachments")
    for name, specification in pdf.attachments.items():
        entry = specification.obj
        content = _content(entry.EF.F if "/F" in entry.EF else entry.EF.UF)
        if name == ORDER_NAME or SIGN_OF_AN_ORDER in content:
            described = str(entry.get("/Desc", ""))
            yield {"name": name, "description": described, "content": base64.b64encode(content).decode()}


def _content(stream: Any) -> bytes:
    """The bytes of an attachment; compressed ones are unpacked only as far as an order can be long."""
    raw: bytes = stream.read_raw_bytes()
    filters = stream.get("/Filter")
    if filters is None:
        content = raw
    elif str(filters) == "/FlateDecode" or [str(one) for one in filters] == ["/FlateDecode"]:
        content = zlib.decompressobj().decompress(raw, MOST_ATTACHED + 1)
    else:
        content = stream.read_bytes()
    if len(content) > MOST_ATTACHED:
        raise TooMuch(f"has an attachment of more than {MOST_ATTACHED // 2**20} MB, which no lab order has")
    return content


if __name__ == "__main__":
    main()
