"""After signing out, the browser's back button shows no record to the next person at the same computer."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from dispensing.bootstrap import system_packages
from dispensing.models import SignedIn
from tests.browser import LAUNCH_FLAGS, sign_in_by_hand
from tests.builders import a_patient

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def remembering_page(chromium: Browser, live_server: Any) -> Iterator[Page]:
    """In a browser that keeps left pages alive for the back button, which a driven one does not do by itself."""
    browser = chromium.browser_type.launch(
        executable_path=system_packages.chromium(),
        args=LAUNCH_FLAGS,
        ignore_default_args=["--disable-back-forward-cache"],
    )
    yield browser.new_page(base_url=live_server.url)
    browser.close()


def go_back(page: Page) -> None:
    # A page that comes out of memory is not loaded, which is what go_back() would wait for.
    page.evaluate("setTimeout(() => history.back())")


def test_the_back_button_keeps_what_is_typed_but_shows_no_record_after_signing_out(remembering_page: Page) -> None:
    page, patient = remembering_page, a_patient()
    sign_in_by_hand(page, "dora")
    page.goto(reverse("patient-correct", args=[patient.public_id]))
    page.get_by_label("Occupation").fill("glazier")
    page.get_by_role("link", name="Orders").click()
    expect(page.locator("h1")).to_have_text("Orders")
    go_back(page)
    expect(page.get_by_label("Occupation")).to_have_value("glazier")

    page.locator("details.person summary").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.locator("h1")).to_have_text("Sign in")
    go_back(page)
    expect(page).to_have_url(re.compile(r"/sign-in/\?next="))
    expect(page.locator("h1")).to_have_text("Sign in")

    # Whoever was idle is signed out by the next press of a key, which may be somebody else's.
    sign_in_by_hand(page, "dora")
    page.goto(reverse("patient-page", args=[patient.public_id]))
    SignedIn.objects.update(last_at=timezone.now() - timedelta(hours=2))
    page.get_by_role("link", name="Orders").click()
    expect(page.locator("h1")).to_have_text("Sign in")
    go_back(page)
    expect(page).to_have_url(re.compile(rf"/sign-in/\?next=.*{patient.public_id}"))
    expect(page.locator("h1")).to_have_text("Sign in")
