"""A template is a page or, with an underscore before its name, part of one. All are used; all that are used exist."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.architecture.source_tree import ROOT, modules

TEMPLATES = ROOT / "templates"
# They extend nothing: the page all others extend, the one for when even that cannot be drawn, and paper.
PAPER = {f"documents/{name}.html" for name in ("lab_order", "job_slip", "collection_slip", "order_copy")}
ROOTS = {"base.html", "500.html", "outage.html", *PAPER}
# Found by their name, by Django and by its CSRF check.
FOUND_BY_DJANGO = {"403.html", "403_csrf.html", "404.html", "500.html"}
NAMED = re.compile(r"""["']([a-z0-9_/]+\.html)["']""")

every = {path.relative_to(TEMPLATES).as_posix(): path.read_text(encoding="utf-8") for path in TEMPLATES.rglob("*.html")}


@pytest.mark.parametrize("name", sorted(every))
def test_an_underscore_tells_a_part_from_a_page(name: str) -> None:
    is_page = name in ROOTS or every[name].lstrip().startswith("{% extends ")

    assert Path(name).name.startswith("_") is not is_page


def test_every_template_is_used_and_every_template_used_is_there() -> None:
    sources = [*every.values(), *(path.read_text(encoding="utf-8") for _, path in modules())]
    named = {name for source in sources for name in NAMED.findall(source)}

    assert named | FOUND_BY_DJANGO == set(every)
