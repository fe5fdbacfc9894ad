"""The order inside a lab-order PDF: its exact bytes, and whether they are still those that the PDF was made from.

The PDF states the SHA-256 of the order in the description of the attachment (`attachment_description`). That proves
that the order was not changed by accident or by a careless hand since; it is no signature. Pure, and the PDF is read
in another process (`pdf_child`), which a file made to exhaust memory or time cannot take this one with.
"""

from __future__ import annotations

import base64
import json
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dispensing.documents import Fault, InvalidDocument
from orders.documents.canonical import sha256_hex
from orders.documents.lens_order import LensOrder, parse_order

READER = Path(__file__).with_name("pdf_child.py")
MOST_BYTES = 32 * 2**20
MOST_SECONDS = 30
HASH = re.compile(r"\bSHA-256 ([0-9a-f]{64})\b")
ID_DIGITS = 32
"""Of the hash, as the PDF's own identifier."""
CHANGED = (
    "holds an order that does not fit the hash stated with it: it was changed or damaged after the PDF was made. "
    "Make nothing from it; ask the practice to send it again"
)


class NoOrderInside(ValueError):
    """There is not exactly one order to be read; the message reads on from the name of the file."""


@dataclass(frozen=True)
class OrderInside:
    """``text``: the attached bytes. ``stated``: their SHA-256 as the PDF states it, or its beginning; empty if it
    states none.
    """

    text: bytes
    stated: str

    @property
    def holds(self) -> bool:
        """Whether the order is the one that the PDF was made from."""
        return bool(self.stated) and sha256_hex(self.text).startswith(self.stated)


def attachment_description(text: bytes) -> str:
    """How the attached order is described in the PDF, for people and for `order_inside`."""
    return f"The order as a lens-order/1 document, SHA-256 {sha256_hex(text)}"


def identifier(text: bytes) -> bytes:
    """The PDF's identifier: made from the order, so that the same order gives the same file."""
    return sha256_hex(text)[:ID_DIGITS].encode()


def is_pdf(content: bytes) -> bool:
    """Whether the file says that it is a PDF; some programs put a few bytes before the header."""
    return b"%PDF-" in content[:1024]


def order_inside(pdf: bytes) -> OrderInside:
    """The one order attached to a PDF. Raises `NoOrderInside` if there is none, several, or nothing can be read."""
    if not is_pdf(pdf):
        raise NoOrderInside("is not a PDF")
    if len(pdf) > MOST_BYTES:
        raise NoOrderInside(f"is larger than {MOST_BYTES // 2**20} MB, which no lab order is")
    said = _read(pdf)
    if "problem" in said:
        raise NoOrderInside(said["problem"])
    found = said["orders"]
    if not found:
        raise NoOrderInside("holds no lens order: nothing attached to it is one")
    if len(found) > 1:
        names = ", ".join(sorted(one["name"] for one in found))
        raise NoOrderInside(f"holds {len(found)} lens orders ({names}), and nothing says which of them counts")
    stated = HASH.search(found[0]["description"])
    return OrderInside(base64.b64decode(found[0]["content"]), stated[1] if stated else _as_hash(said["id"]))


def _as_hash(first_id: str) -> str:
    return first_id if re.fullmatch(rf"[0-9a-f]{{{ID_DIGITS}}}", first_id) else ""


def _read(pdf: bytes) -> dict[str, Any]:
    command = [sys.executable, "-I", str(READER)]
    try:
        done = subprocess.run(  # noqa: S603 - our own script, and the file goes to its standard input
            command, input=pdf, capture_output=True, timeout=MOST_SECONDS, check=False
        )
        said: dict[str, Any] = json.loads(done.stdout)
    except subprocess.TimeoutExpired:
        return {"problem": f"cannot be read in {MOST_SECONDS:.0f} seconds, which is enough for any lab order"}
    except ValueError:
        return {"problem": "cannot be read: the program that opens it gave up"}
    return said


def read_order_file(path: str | Path) -> LensOrder:
    """The order in a file: a lens-order/1 as JSON, or a lab-order PDF with one inside that still fits its hash.

    Raises :class:`dispensing.documents.InvalidDocument`.
    """
    content = file_content(path)
    return parse_order(order_text(content) if is_pdf(content) else content)


def order_text(pdf: bytes) -> bytes:
    """The order inside a PDF, if it fits its hash; raises :class:`dispensing.documents.InvalidDocument` if not."""
    try:
        found = order_inside(pdf)
    except NoOrderInside as error:
        raise InvalidDocument([Fault("$", str(error))]) from error
    if not found.holds:
        raise InvalidDocument([Fault("$", CHANGED)])
    return found.text


def file_content(path: str | Path) -> bytes:
    """The bytes of a file; raises :class:`dispensing.documents.InvalidDocument` if it cannot be read."""
    try:
        return Path(path).read_bytes()
    except OSError as error:
        raise InvalidDocument([Fault("$", f"cannot be read: {error.strerror}")]) from error
