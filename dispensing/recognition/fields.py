"""A reading as the fields of the entry form: name, text to type, what is unsure, and the snippet that it came from."""

from __future__ import annotations

import base64
import io
from collections.abc import Iterator, Sequence
from typing import Any

from PIL import Image

from dispensing.optics.conventions import EYES
from dispensing.optics.notation import format_amount, format_axis, format_power
from dispensing.optics.prism import Prism
from dispensing.prescribing.paper.document import read_field
from dispensing.prescribing.paper.reading import EyeRead, Reading
from dispensing.prescribing.paper.words import Read, around
from dispensing.recognition.runner import PageRead

FACTS = ("tested_on", "expires_on", "prescriber", "vertex_mm")
WHOSE = ("patient", "born_on")
"""What says whose paper it is; it fills no field."""
SNIPPET_QUALITY = 75
SNIPPET_HIGH_PX = 64
SNIPPET_WIDE_PX = 360
AROUND = 0.4
"""Of the height of a word: how much of the paper around it a snippet shows."""
NO_BASE = "A prism and its base could not be read together."


def fields_of(reading: Reading, pages: Sequence[PageRead]) -> list[dict[str, Any]]:
    """Each field found: ``name`` as in the form, ``value`` (None if not readable), ``typed``, ``text``, ``unsure``,
    ``confidence`` (0 to 1), ``box`` and ``page`` (px of the upright page), and ``snippet`` (JPEG in Base64; empty if
    the page was not kept).
    """
    by_number = {page.number: page for page in pages}
    found = []
    for name, read, typed in _every(reading):
        said = read_field(read) or {}
        found.append(
            {
                "name": name,
                "value": said["value"],
                "typed": typed if said["value"] is not None else "",
                "text": read.text,
                "unsure": read.unsure,
                "confidence": said["confidence"],
                "box": said["box"],
                "page": read.page,
                "snippet": _snippet(read, by_number.get(read.page)),
            }
        )
    return found


def _every(reading: Reading) -> Iterator[tuple[str, Read, str]]:
    for eye, read in zip(EYES, (reading.right, reading.left)):
        for name, field, write in (
            ("sphere", read.sphere, format_power),
            ("cylinder", read.cylinder, format_power),
            ("axis", read.axis, format_axis),
            ("add", read.add, format_amount),
            ("intermediate_add", read.intermediate_add, format_amount),
        ):
            if field is not None:
                yield f"{eye}-{name}", field, "" if field.value is None else write(field.value)
        for name, field, typed in _prisms(read):
            yield f"{eye}-{name}", field, typed
        if read.acuity is not None:
            yield f"{eye}-acuity", read.acuity, str(read.acuity.value)
        if read.balance is not None:
            yield f"{eye}-balance", read.balance, "on"
    for name in FACTS:
        if fact := reading.facts.get(name):
            yield name, fact, f"{fact.value:g}" if isinstance(fact.value, float) else str(fact.value)
    for name in WHOSE:
        if fact := reading.facts.get(name):
            yield name, fact, ""


def _prisms(eye: EyeRead) -> Iterator[tuple[str, Read, str]]:
    """Horizontal and vertical part with their bases; all of it at the place of the first amount."""
    if not eye.prism:
        return
    total, unsure = Prism(), ""
    for amount, base in eye.prism:
        unsure = unsure or amount.unsure or base.unsure
        if amount.value is None or base.value is None:
            yield "prism_horizontal", _joined(eye, None, NO_BASE), ""
            return
        total = total + Prism.from_base(amount.value, base.value)
    for size, towards in total.written():
        way = "prism_horizontal" if towards in ("in", "out") else "prism_vertical"
        yield way, _joined(eye, size, unsure), format_amount(size)
        yield f"{way}_base", _joined(eye, towards, unsure), towards


def _joined(eye: EyeRead, value: Any, unsure: str) -> Read:
    parts = [part for pair in eye.prism for part in pair]
    first = parts[0]
    text = " ".join(dict.fromkeys(part.text for part in parts))
    together = around(part.box for part in parts if part.page == first.page)
    return Read(value, text, min(part.confidence for part in parts), together, first.page, unsure)


def _snippet(read: Read, page: PageRead | None) -> str:
    if page is None or not page.jpeg:
        return ""
    with Image.open(io.BytesIO(page.jpeg)) as picture:
        ratio = picture.width / page.width
        left, top, wide, high = (side * ratio for side in read.box)
        more = AROUND * high
        cut = picture.crop(
            (
                int(max(left - 2 * more, 0)),  # a sign that was not recognised stands there
                int(max(top - more, 0)),
                int(min(left + wide + more, picture.width)),
                int(min(top + high + more, picture.height)),
            )
        )
    cut.thumbnail((SNIPPET_WIDE_PX, SNIPPET_HIGH_PX))
    kept = io.BytesIO()
    cut.convert("RGB").save(kept, "JPEG", quality=SNIPPET_QUALITY)
    return base64.b64encode(kept.getvalue()).decode()
