"""A PDF page is set in the same fonts on every machine."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from dispensing.bootstrap import system_packages
from dispensing.fonts import FontsMissing, require_fonts
from tests.known import there

ROOT = Path(__file__).parents[2]
FACES_OF_THE_PACKAGE = (
    "DejaVuSans.ttf",
    "DejaVuSans-Bold.ttf",
    "DejaVuSansMono.ttf",
    "DejaVuSansMono-Bold.ttf",
    "DejaVuSerif.ttf",
    "DejaVuSerif-Bold.ttf",
)
DRAW = """
import hashlib, os
if "FONTCONFIG_FILE" not in os.environ:
    from dispensing.fonts import require_fonts
    require_fonts()
from weasyprint import HTML
page = '''<html><body style="font-family: 'DejaVu Sans'"><p>Order ↑ ✓ Ø ± ° Δ</p>
<p><i>slanted</i> <b>bold</b> <span style="font-stretch: condensed; font-weight: 200">narrow</span></p>'''
print(hashlib.sha256(HTML(string=page).write_pdf(pdf_identifier=b"0" * 16)).hexdigest())
"""
ONLY_THE_PACKAGE = """<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd">
<fontconfig><dir>{folder}</dir><cachedir>{folder}</cachedir>
<include ignore_missing="yes">/etc/fonts/conf.d</include></fontconfig>"""


def drawn(**environ: str) -> str:
    """The hash of a PDF page drawn by a fresh process: a process chooses its fonts once."""
    clean = {name: value for name, value in os.environ.items() if name != "FONTCONFIG_FILE"}
    result = subprocess.run(
        [sys.executable, "-c", DRAW], cwd=ROOT, env={**clean, **environ}, capture_output=True, text=True
    )
    assert result.returncode == 0, result.stderr
    return result.stdout


def test_a_page_is_the_same_as_on_a_machine_that_has_the_font_package_alone(tmp_path: Path) -> None:
    installed = Path(there(system_packages.dejavu_sans())).parent
    for face in FACES_OF_THE_PACKAGE:
        shutil.copy(installed / face, tmp_path)
    config = tmp_path / "fonts.conf"
    config.write_text(ONLY_THE_PACKAGE.format(folder=tmp_path))
    assert drawn() == drawn(FONTCONFIG_FILE=str(config))


def test_without_a_font_the_caller_gets_an_error_and_not_a_crash(monkeypatch: pytest.MonkeyPatch) -> None:
    lacking = system_packages.Need("the font", "text", "fonts-dejavu-core", lambda: False)
    monkeypatch.setattr(system_packages, "FOR_PAGES_AND_PDF", (lacking,))
    with pytest.raises(FontsMissing, match=r"PDF pages need the font\. Install with: sudo apt-get"):
        require_fonts()
