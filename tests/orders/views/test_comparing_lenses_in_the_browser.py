"""The comparison of lenses in a real browser: two are pinned beside each other, and one is taken by keys alone."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.accessibility import at_both_widths, no_faults, no_faults_at_both_widths
from tests.browser import sign_in
from tests.known import there
from tests.orders.views.desk import stored
from tests.orders.views.test_comparing_lenses import draft

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_two_lenses_are_pinned_and_the_lighter_one_is_taken_by_keys(page: Page) -> None:
    order = draft()
    sign_in(page)
    page.goto(reverse("order-page", args=[order.public_id]))
    page.get_by_role("link", name="Compare lenses").click()
    expect(page.locator("h1")).to_have_text("Compare lenses")
    no_faults_at_both_widths(page)
    page.set_viewport_size({"width": 390, "height": 844})
    top = there(page.locator(".lens-table tbody tr").first.bounding_box())["y"]
    assert top < 500, "the first lens belongs into the first screen"
    page.set_viewport_size({"width": 1280, "height": 900})

    page.get_by_role("link", name=re.compile("^Impact-resistant")).click()
    expect(page.locator(".lens-table tbody:not(.now)")).not_to_contain_text("Plastic 1.50")
    page.get_by_role("link", name="Show all").click()
    for name in ("Pin Single vision, Plastic 1.50, blank 65 mm", "Pin Single vision, 1.60, blank 65 mm"):
        page.get_by_role("link", name=name, exact=True).click()
    expect(page.locator(".pinned > li")).to_have_count(2)
    expect(page.locator(".apart")).to_contain_text("g lighter")
    for _ in at_both_widths(page):
        no_faults(page)
        drawn = page.locator(".section-drawing svg").evaluate_all(
            "all => all.map((one) => one.getBoundingClientRect().width)"
        )
        assert drawn[0] == drawn[2] > 200
        assert drawn[1] == drawn[3] > 200
    expect(page.get_by_role("button", name="Print these")).to_be_visible()

    page.emulate_media(media="print")
    expect(page.locator(".lens-table")).to_be_hidden()
    expect(page.locator(".letterhead")).to_contain_text("Printed")
    page.emulate_media(media="screen")

    first, second = page.locator(".lens-table [data-take]").all()[:2]
    first.focus()
    page.keyboard.press("ArrowDown")
    expect(second).to_be_focused()
    page.keyboard.press("ArrowUp")
    expect(first).to_be_focused()
    page.keyboard.press("ArrowDown")
    expect(second).to_contain_text("Single vision, Plastic 1.50")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Taken into the order: Single vision, Plastic 1.50.")).to_be_visible()
    assert [lens["material"] for lens in stored(order).lenses.values()] == ["m150", "m150"]
