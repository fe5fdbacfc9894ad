"""The fonts that PDF pages are set in: DejaVu Sans from the machine, chosen by our own ``fonts.conf``.

Pango ends the whole process, without an error to catch, when there is no font at all. So code that draws a PDF must
call `require_fonts` first, before WeasyPrint is imported.
"""

import os
from pathlib import Path

from dispensing.bootstrap import system_packages

FONTCONFIG = Path(__file__).parent / "fonts.conf"


class FontsMissing(RuntimeError):
    """A library or the font for PDF pages is not installed; the message says which, and how to install it."""


def require_fonts() -> None:
    """Selects our ``fonts.conf`` for this process; raises `FontsMissing` if a PDF page cannot be drawn here."""
    lacking = system_packages.missing(system_packages.FOR_PAGES_AND_PDF)
    if lacking:
        names = ", ".join(need.name for need in lacking)
        raise FontsMissing(f"PDF pages need {names}. Install with: {system_packages.install_line(lacking)}")
    os.environ["FONTCONFIG_FILE"] = str(FONTCONFIG)
