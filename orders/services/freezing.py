"""Freezes an order: the exact bytes that will be sent and stored, and never changed.

They are canonical JSON with its hash, the report on it as `check_order` prints it, and the PDF drawn from it. This
module must never change an order's state.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from dispensing.models import StaffUser
from orders.documents.canonical import canonical_bytes, sha256_hex
from orders.documents.lens_order import (
    EYES,
    Eye,
    LensesPart,
    LensOrder,
    OrderedBy,
    OrderedLens,
    OrderedPower,
    parse_order,
)
from orders.documents.order_report import Computed, OrderReport
from orders.documents.replacing import replaces
from orders.models import OrderDocument
from orders.printing.render import paper
from orders.rules import settled
from orders.rules.command import line
from orders.rules.private_facts import no_more_than_needed
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


def freeze(judged: Judgement, *, replaced: OrderDocument | None = None, sender: StaffUser | None = None) -> Frozen:
    """Freeze what was judged; the same judgement gives the same bytes.

    ``replaced``: the revision that this one takes the place of. ``sender``: who sends it, and so has ordered it unless
    a registered person is named.
    """
    document = to_be_sent(judged, replaced=replaced, sender=sender)
    report = _report_on(document, judged)
    text = canonical_bytes(document)
    # Draw the PDF from what a reader will find in the text, and not from what the text was made from.
    pdf = paper(parse_order(text), text, catalogue=judged.catalogue, report=report)
    has_notes = any(part.level == "note" for part in report.findings)
    return Frozen(text, line(report).encode(), pdf, has_notes)


def to_be_sent(
    judged: Judgement, *, replaced: OrderDocument | None = None, sender: StaffUser | None = None
) -> LensOrder:
    """The document that is frozen, with what is made, who ordered it and what it takes the place of."""
    needed = no_more_than_needed(judged.document, judged.found, lambda order: _found_in(order, judged))
    document = with_what_is_made(needed, judged.report.computed)
    if sender is not None and document.ordered_by is None:
        document = document.model_copy(update={"ordered_by": _ordered_by(sender)})
    if replaced is not None:
        document = document.model_copy(update={"replaces": replaces(replaced.text.encode(), document)})
    return document


def with_what_is_made(document: LensOrder, computed: Computed) -> LensOrder:
    """The document with use, basis and powers to be made stated, so that nobody who reads it has to work them out."""
    right, left = (_stated(document, computed, eye) for eye in EYES)
    return document.model_copy(
        update={
            "use": document.pair_use,
            "power_basis": document.power_basis or "as_prescribed",
            "lenses": LensesPart(right=right, left=left),
        }
    )


def _ordered_by(sender: StaffUser) -> OrderedBy:
    """Whoever sends an order, with the registration if there is one."""
    return OrderedBy(name=sender.display_name, registration=sender.registered_as or None)


def _stated(document: LensOrder, computed: Computed, eye: Eye) -> OrderedLens | None:
    """The lens with its power, and under ``extra`` the PD that it is centred by: one worked out is nowhere else."""
    lens, found = document.lenses.eye(eye), computed.right if eye == "right" else computed.left
    if lens is None or found.power is None or found.power.sphere is None:
        return lens
    made = found.power
    power = OrderedPower(sphere=made.sphere, cylinder=made.cylinder, axis=made.axis, prism=made.prism)
    pd = {} if found.pd_used_mm is None else {"pd_used_mm": round(found.pd_used_mm, 1), "pd_used_by": found.pd_used_by}
    return lens.model_copy(update={"power": power, "extra": {**(lens.extra or {}), **pd}})


def _report_on(document: LensOrder, judged: Judgement) -> OrderReport:
    """The report on the very document that is sent, as anybody who checks it will get it."""
    return settled(_found_in(document, judged), document.lifted or ())


def _found_in(document: LensOrder, judged: Judgement) -> OrderReport:
    return replace(judged.asked, document=document.model_copy(update={"lifted": None})).check()
