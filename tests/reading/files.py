"""Files of invented papers: PDFs with text and without, and files that are broken, locked, huge or something else."""

from __future__ import annotations

import io

import pikepdf
from PIL import Image

from tests.reading.sheets import PaperSheet

POINTS_A_PX = 72 / 150


def text_pdf(sheet: PaperSheet, password: str = "") -> bytes:
    """The sheet as a PDF with text of its own, in Helvetica; letters outside Latin-1 are left out."""
    pdf = pikepdf.new()
    page = pdf.add_blank_page(page_size=(sheet.width * POINTS_A_PX, sheet.height * POINTS_A_PX))
    font = pikepdf.Dictionary(
        Type=pikepdf.Name.Font,
        Subtype=pikepdf.Name.Type1,
        BaseFont=pikepdf.Name.Helvetica,
        Encoding=pikepdf.Name.WinAnsiEncoding,
    )
    page.Resources = pikepdf.Dictionary(Font=pikepdf.Dictionary(F1=pdf.make_indirect(font)))
    lines = []
    for x, y, text, _, size in sheet.texts:
        said = text.replace("\u2212", "-").encode("cp1252", "ignore").decode("cp1252")
        escaped = said.replace("\\", "\\\\").replace("(", "\\(").replace(")", "\\)")
        at = f"{x * POINTS_A_PX:.1f} {(sheet.height - y - size) * POINTS_A_PX:.1f}"
        lines.append(f"BT /F1 {size * POINTS_A_PX:.1f} Tf {at} Td ({escaped}) Tj ET")
    page.Contents = pdf.make_stream("\n".join(lines).encode("cp1252"))
    return _saved(pdf, password)


def picture_pdf(*pictures: Image.Image) -> bytes:
    """Scanned pages in a PDF without text."""
    kept = io.BytesIO()
    pictures[0].save(kept, "PDF", save_all=True, append_images=pictures[1:], resolution=150)
    return kept.getvalue()


def empty_pages(count: int) -> bytes:
    pdf = pikepdf.new()
    for _ in range(count):
        pdf.add_blank_page(page_size=(595, 842))
    return _saved(pdf)


def png(image: Image.Image) -> bytes:
    kept = io.BytesIO()
    image.save(kept, "PNG")
    return kept.getvalue()


def _saved(pdf: pikepdf.Pdf, password: str = "") -> bytes:
    kept = io.BytesIO()
    pdf.save(kept, encryption=pikepdf.Encryption(owner=password, user=password) if password else False)
    return kept.getvalue()
