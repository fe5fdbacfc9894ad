"""The lab-order PDF: a page with the order, its drawing to scale, and the exact document attached.

PDF/A-3 with ``order.json`` inside, byte for byte the frozen text. The same text, catalogue and report always give the
same bytes: nothing here reads a clock, a database or the network.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, time
from functools import lru_cache
from typing import Any

import segno
from django.template.loader import render_to_string
from django.utils.safestring import mark_safe

from dispensing.fonts import require_fonts
from orders.documents.canonical import sha256_hex
from orders.documents.inside_pdf import attachment_description, identifier
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder
from orders.documents.order_report import OrderReport
from orders.drawings import LEGEND, order_drawing
from orders.printing.content.head import code_text
from orders.printing.content.lab_order import lab_order_content
from orders.printing.content.tables import headings
from orders.printing.letters import all_printable, printable

ATTACHMENT_NAME = "order.json"
WIDEST_MM, TALLEST_MM = 190.0, 112.0
QR_WIDEST_MM, QR_MODULE_MM, QR_QUIET = 24.0, 0.6, 4


class NoNetwork(ValueError):
    """Something in a document asked for a file or an address; a lab order needs neither."""


def lab_order_pdf(order: LensOrder, text: bytes, *, catalogue: LensCatalogue | None, report: OrderReport) -> bytes:
    """The PDF for an order read from its frozen ``text``. Raises `FontsMissing` if no PDF can be drawn."""
    return pdf_of(lab_order_html(order, text, catalogue=catalogue, report=report), text, moment_of(order))


def lab_order_html(order: LensOrder, text: bytes, *, catalogue: LensCatalogue | None, report: OrderReport) -> str:
    """The finished page, as passed to WeasyPrint."""
    content = all_printable(lab_order_content(order, report, sha256_hex(text)))
    drawing, scale = fitted_drawing(order, catalogue)
    context = {
        "content": content,
        # Both are made by our own code from figures and checked words; everything else is escaped.
        "drawing": mark_safe(drawing),  # noqa: S308
        "qr": mark_safe(qr_code(code_text(order))),  # noqa: S308
        "scale": scale,
        "legend": LEGEND,
        "created": moment_of(order).isoformat(),
        "transcribed": printable(text.decode()) != text.decode(),
    }
    return render_to_string("documents/lab_order.html", context)


def pdf_of(html: str, attached: bytes, moment: datetime) -> bytes:
    """The page as PDF/A-3a with the document attached."""
    require_fonts()
    from weasyprint import HTML, Attachment

    attachment = Attachment(
        string=attached,
        name=ATTACHMENT_NAME,
        description=attachment_description(attached),
        relationship="Source",
        created=moment,
        modified=moment,
    )
    pdf: bytes = HTML(string=html, url_fetcher=closed_fetcher()).write_pdf(
        pdf_variant="pdf/a-3a",
        attachments=[attachment],
        pdf_identifier=identifier(attached),
        finisher=_finish,
    )
    return pdf


def _finish(_document: Any, pdf: Any) -> None:
    """Mark each heading of a table as one of a column or of a row, which WeasyPrint leaves to the reader to guess, and
    leave the file's description of itself readable without unpacking.
    """
    parts = {part.reference: part for part in pdf.objects if hasattr(part, "get")}
    for heading in [part for part in parts.values() if part.get("S") == "/TH"]:
        row = parts[heading["P"]]
        in_head = parts[row["P"]].get("S") == "/THead"
        heading["A"]["Scope"] = "/Column" if in_head else "/Row"
    for part in pdf.objects:
        if getattr(part, "extra", {}).get("Type") == "/Metadata":
            part.compress = False


@lru_cache(maxsize=1)
def closed_fetcher() -> Any:
    """What WeasyPrint asks for files and addresses: it is refused them."""
    from weasyprint.urls import URLFetcher

    class Closed(URLFetcher):  # type: ignore[misc]  # WeasyPrint has no types
        def fetch(self, url: str, headers: Any = None) -> Any:
            raise NoNetwork(f"A lab order may not fetch {url[:60]}.")

    return Closed()


def moment_of(order: LensOrder) -> datetime:
    """The time stamped on the PDF: the day of the order, so that the same order always gives the same file."""
    day = order.ordered_on or order.prescription.tested_on
    return datetime.combine(day, time(12, 0), UTC) if day else datetime(2000, 1, 1, tzinfo=UTC)


def fitted_drawing(order: LensOrder, catalogue: LensCatalogue | None) -> tuple[str, str]:
    """The drawing, life-size if it fits the page and smaller if not, and its scale in words."""
    drawing = order_drawing(order, catalogue, headings=headings(order))
    wide, tall = _size_mm(drawing)
    if wide <= WIDEST_MM and tall <= TALLEST_MM:
        return drawing, "Scale 1 : 1 when printed at 100 %"
    scale = min(WIDEST_MM / wide, TALLEST_MM / tall)
    return order_drawing(order, catalogue, headings=headings(order), scale=scale), f"Scale 1 : {1.0 / scale:.2f}"


def _size_mm(drawing: str) -> tuple[float, float]:
    found = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', drawing)
    assert found is not None
    return float(found[1]), float(found[2])


def qr_code(text: str) -> str:
    """A text as a QR code, an SVG element with its quiet zone; finer where a long text would make it too wide."""
    code = segno.make_qr(text, error="m", boost_error=False)
    module = min(QR_MODULE_MM, QR_WIDEST_MM / (code.symbol_size(border=QR_QUIET)[0]))
    title = f"QR code: {', '.join(text.splitlines())}"
    svg: str = code.svg_inline(scale=round(module, 3), unit="mm", border=QR_QUIET, title=title, svgclass="qr")
    return svg
