"""An order in each of its export forms: the document, the lab's PDF, FHIR, and records for machines.

All are made from the document alone (the PDF also from what the check found), so the same order always gives the
same bytes.
"""

from __future__ import annotations

from typing import Literal, get_args

from orders.documents.canonical import canonical_bytes
from orders.documents.fhir import fhir_bundle, fhir_json
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder
from orders.documents.order_report import OrderReport
from orders.documents.records import records

Kind = Literal["json", "pdf", "fhir", "records"]
KINDS: tuple[Kind, ...] = get_args(Kind)


def render(
    order: LensOrder, kind: Kind, *, catalogue: LensCatalogue | None = None, report: OrderReport | None = None
) -> bytes:
    """The bytes of one form. ``catalogue`` and ``report`` are for the PDF: its drawing, figures and cautions."""
    if kind == "fhir":
        return (fhir_json(fhir_bundle(order)) + "\n").encode()
    if kind == "records":
        return records(order)
    text = canonical_bytes(order)
    if kind == "json":
        return text
    report = report or OrderReport(number=order.number, verdict="clear")
    return paper(order, text, catalogue=catalogue, report=report)


def paper(order: LensOrder, text: bytes, *, catalogue: LensCatalogue | None, report: OrderReport) -> bytes:
    """The lab's PDF of an order read from ``text``, the canonical JSON that goes with it byte for byte."""
    # Font tables and QR codes take a quarter of a second to load, and few processes ever draw an order.
    from orders.printing.lab_order import lab_order_pdf

    return lab_order_pdf(order, text, catalogue=catalogue, report=report)
