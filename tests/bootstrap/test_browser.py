"""The two screens that every browser test can open: they reach the live server and watch what the page does."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect
from pytest_django.live_server_helper import LiveServer

from tests.browser import Watch

pytestmark = pytest.mark.browser


def width_of_content(page: Page) -> int:
    return int(page.evaluate("document.documentElement.scrollWidth"))


def test_a_stranger_is_shown_the_sign_in_on_a_desk_screen(page: Page) -> None:
    page.goto("/")
    expect(page.get_by_label("Password")).to_be_visible()
    assert "/sign-in/" in page.url
    assert width_of_content(page) <= 1280


def test_the_sign_in_fits_a_telephone(narrow_page: Page) -> None:
    narrow_page.goto("/")
    expect(narrow_page.get_by_label("Password")).to_be_visible()
    assert width_of_content(narrow_page) <= 390


def test_a_script_that_breaks_and_a_foreign_host_are_found_out(chromium: Browser, live_server: LiveServer) -> None:
    page = chromium.new_page(base_url=live_server.url)
    watch = Watch(page)
    page.goto("/")
    with page.expect_event("pageerror"), page.expect_request("http://elsewhere.invalid/*"):
        page.evaluate("setTimeout(() => { throw new Error('torn') })")
        page.evaluate("new Image().src = 'http://elsewhere.invalid/pixel.png'")
    page.close()
    assert "script error: torn" in watch.faults
    assert any("elsewhere.invalid" in fault for fault in watch.faults)
