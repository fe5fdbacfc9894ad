"""Freezes an order: the exact bytes that will be sent and stored, and never changed.

They are canonical JSON with its hash, the report on it as `check_order` prints it, and the PDF drawn from it. This
module must never change an order's state.
"""

from __future__ import annotations

from dataclasses import dataclass

from orders.documents.canonical import canonical_bytes, sha256_hex
from orders.documents.lens_order import parse_order
from orders.printing.render import paper
from orders.rules.command import line
from orders.services.judging import Judgement


@dataclass(frozen=True)
class Frozen:
    """An order at one moment, as bytes. ``has_notes``: whether the check left notes, which need no answer."""

    text: bytes
    report: bytes
    pdf: bytes
    has_notes: bool

    @property
    def sha256(self) -> str:
        return sha256_hex(self.text)


def freeze(judged: Judgement) -> Frozen:
    """Freeze what was judged; the same judgement gives the same bytes."""
    text = canonical_bytes(judged.document)
    # Draw the PDF from what a reader will find in the text, and not from what the text was made from.
    pdf = paper(parse_order(text), text, catalogue=judged.catalogue, report=judged.report)
    has_notes = any(part.level == "note" for part in judged.report.findings)
    return Frozen(text, line(judged.report).encode(), pdf, has_notes)
