"""What every page must pass: axe finds no fault, and nothing is wider than a desktop screen or a phone's."""

from __future__ import annotations

from collections.abc import Iterator

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.browser import DESK, TELEPHONE

STANDARD = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]},
    # Else axe also writes a report on every part that is in order, which takes five times as long.
    "resultTypes": ["violations"],
}


def no_faults(page: Page) -> None:
    """Of the page as it stands."""
    results = Axe().run(page, options=STANDARD)
    assert results.violations_count == 0, f"{page.url}\n{results.generate_report()}"
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, f"{page.url} is {wide} px wider than the screen."


def at_both_widths(page: Page) -> Iterator[None]:
    """Goes on once on a desk's screen and once on a telephone's, on the same page and with the same sign-in."""
    for size in (DESK, TELEPHONE):
        page.set_viewport_size(size)
        yield
    page.set_viewport_size(DESK)


def no_faults_at_both_widths(page: Page) -> None:
    for _ in at_both_widths(page):
        no_faults(page)
