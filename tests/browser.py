"""A headless Chromium for the tests that use the pages as a person does.

``page`` is a desktop screen (1280 px wide), ``narrow_page`` a phone's (390 px). Both open on the live server, and fail
their test at its end when the page logged an error, threw one, or asked a foreign host for anything. `sign_in` signs
somebody in without going through the sign-in pages, which have tests of their own; `expect` waits for what should
happen, and nothing here or in any test waits for a time.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from playwright.sync_api import Browser, Page, ViewportSize, expect, sync_playwright

from dispensing.bootstrap import system_packages
from tests.people import PASSWORD, person, signed_in

DESK: ViewportSize = {"width": 1280, "height": 900}
TELEPHONE: ViewportSize = {"width": 390, "height": 844}
LAUNCH_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
]
# A form that is refused answers 4xx, and the browser logs that by itself; the test looks at the page instead.
EXPECTED_LOG = "Failed to load resource: the server responded with a status of 4"
OWN_SCHEMES = {"data", "blob", "about"}


# A busy machine is slow, and slow is not wrong: nothing here proves a time.
expect.set_options(timeout=20_000)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = system_packages.chromium()
    if path is None:
        raise RuntimeError(f"No Chromium. Install it: {system_packages.install_line([system_packages.CHROMIUM])}")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=LAUNCH_FLAGS)
        yield browser
        browser.close()


def sign_in(page: Page, username: str = "ines") -> None:
    """Puts the cookie of a session into the page's browser."""
    session = signed_in(username).cookies[settings.SESSION_COOKIE_NAME].value
    host = "127.0.0.1"  # Of the live server, see pyproject.toml.
    page.context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": session, "domain": host, "path": "/"}])


def sign_in_by_hand(page: Page, username: str) -> None:
    """As a person does, with keys alone."""
    person(username)
    page.goto("/sign-in/")
    page.bring_to_front()  # Keys go to the focused field of the page in front.
    expect(page.locator("[name=username]")).to_be_focused()
    page.keyboard.type(username)
    page.keyboard.press("Tab")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_contain_text("Good day")


def opened(page: Page, label: str) -> None:
    """Opens what a page tells as text under this label, unless it is open already, so that it can be changed."""
    fold = page.locator("details.told:visible", has=page.locator(".told-label", has_text=label)).first
    if fold.get_attribute("open") is None:
        fold.locator("summary").click()


def wired(page: Page) -> None:
    """Waits until what an answer put on the page does something when it is pressed, a moment after it is there."""
    expect(page.locator(".htmx-settling, .htmx-swapping")).to_have_count(0)


class Watch:
    """Collects what a page must not do."""

    def __init__(self, page: Page) -> None:
        self.faults: list[str] = []
        page.on("console", self._on_console)
        page.on("pageerror", lambda error: self.faults.append(f"script error: {error}"))
        page.on("request", self._on_request)

    def _on_console(self, message: Any) -> None:
        if message.type == "error" and not message.text.startswith(EXPECTED_LOG):
            self.faults.append(f"console error: {message.text}")

    def _on_request(self, request: Any) -> None:
        address = urlsplit(request.url)
        if address.scheme not in OWN_SCHEMES and address.hostname not in {"localhost", "127.0.0.1"}:
            self.faults.append(f"asked a foreign host: {request.url}")


def _open_page(chromium: Browser, live_server: Any, viewport: ViewportSize) -> Iterator[Page]:
    context = chromium.new_context(base_url=live_server.url, viewport=viewport, locale="en-GB", accept_downloads=True)
    context.set_default_timeout(30_000)
    page = context.new_page()
    watch = Watch(page)
    yield page
    context.close()
    assert not watch.faults, "\n".join(watch.faults)


@pytest.fixture
def page(chromium: Browser, live_server: Any) -> Iterator[Page]:
    yield from _open_page(chromium, live_server, DESK)


@pytest.fixture
def narrow_page(chromium: Browser, live_server: Any) -> Iterator[Page]:
    yield from _open_page(chromium, live_server, TELEPHONE)
