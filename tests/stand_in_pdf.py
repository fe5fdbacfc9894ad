"""A pytest plugin: a real PDF is drawn only in tests marked ``paper``, which test what is on the paper or in the file.

Typesetting takes longer than everything else about sending an order. Elsewhere only WeasyPrint's last step is replaced
by a stand-in: the words and the drawing of the page are made as always. Processes that a test starts
(``manage.py demo``) draw real ones.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from dispensing.fonts import require_fonts


def stand_in(_page: object, *, pdf_identifier: bytes, **_options: Any) -> bytes:
    """Two documents have two of them, one document always the same."""
    return b"%PDF-1.7\n% Stands in for the page of " + pdf_identifier


@contextmanager
def no_typesetting() -> Iterator[None]:
    """For what is set up once for several tests; within a test the plugin sees to it."""
    require_fonts()
    import weasyprint

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(weasyprint.HTML, "write_pdf", stand_in)
        yield


@pytest.fixture(autouse=True)
def _no_typesetting(request: pytest.FixtureRequest) -> Iterator[None]:
    if request.node.get_closest_marker("paper"):
        yield
        return
    with no_typesetting():
        yield
