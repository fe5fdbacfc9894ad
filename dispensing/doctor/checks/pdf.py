"""What PDF pages are drawn with: Pango, HarfBuzz's subsetter, the font. Draws nothing."""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.bootstrap import system_packages
from dispensing.doctor.registry import Diagnosis, doctor_check, ok, wrong


@doctor_check("pdf")
def pdf_pages_can_be_drawn() -> Iterator[Diagnosis]:
    for need in system_packages.FOR_PAGES_AND_PDF:
        if need.is_there():
            yield ok(f"{need.name} is there, for {need.purpose}")
        else:
            line = system_packages.install_line([need])
            yield wrong(f"{need.name} is missing, for {need.purpose}", f"Run: {line}")
