"""The practice's own paper as PDF: what goes with the tray, with the patient, and into the folder.

A slip carries the order's number twice, as QR and as Code 128, so that whatever scanner there is reads it.
"""

from __future__ import annotations

from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe

from dispensing.fonts import require_fonts
from orders.printing.code128 import code128
from orders.printing.lab_order import closed_fetcher, qr_code

SLIPS = {"A4": "A6", "letter": "4in 6in"}
"""A slip is a quarter of the sheet that the practice prints on, or the label that is usual there."""


def paper_pdf(template: str, context: dict[str, object]) -> bytes:
    """A tagged PDF of the page. Raises `FontsMissing` if none can be drawn here."""
    require_fonts()
    from weasyprint import HTML

    pdf: bytes = HTML(string=render_to_string(template, context), url_fetcher=closed_fetcher()).write_pdf(
        pdf_variant="pdf/ua-1"
    )
    return pdf


def codes_of(number: str) -> dict[str, SafeString]:
    """The codes of an order's number, made by our own code from letters and figures alone."""
    return {"qr": mark_safe(qr_code(number)), "bars": mark_safe(code128(number))}  # noqa: S308
