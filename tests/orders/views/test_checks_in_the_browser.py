"""The "What we check" pages in a real browser: no accessibility faults, at both widths and on paper."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.accessibility import no_faults_at_both_widths
from tests.browser import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_the_pages_of_the_rules_have_no_faults_on_a_desk_or_a_telephone(page: Page) -> None:
    sign_in(page)
    for address in (reverse("check-list"), reverse("check-page", args=["pd-range"])):
        page.goto(address)
        no_faults_at_both_widths(page)


def test_the_list_leads_to_a_rule_and_a_manager_sets_a_limit(page: Page) -> None:
    sign_in(page)
    page.goto(reverse("home"))
    page.get_by_role("link", name="What we check").click()
    page.get_by_role("link", name="The frame's width suits the PD").click()
    page.get_by_label("Here").fill("3")
    page.get_by_label("Why").first.fill("Two pairs came back")
    page.get_by_role("button", name="Set this limit").click()
    expect(page.get_by_role("button", name="Back to 4 mm")).to_be_visible()


def test_on_paper_the_forms_are_gone_and_the_limits_stay(page: Page) -> None:
    sign_in(page)
    page.goto(reverse("check-page", args=["decentration"]))
    page.emulate_media(media="print")
    expect(page.locator("#tighten-title")).to_be_hidden()
    expect(page.locator("#limits-title")).to_be_visible()
