"""The ways out of a finding in a real browser: they appear by themselves, and one click clears the stop."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from orders.models import Order
from tests.accessibility import no_faults_at_both_widths
from tests.browser import sign_in
from tests.orders.views.test_ways_out_on_the_desk import order_with_too_small_a_blank

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_click_on_a_way_out_clears_the_stop_and_shows_the_blank_chosen(page: Page) -> None:
    order = order_with_too_small_a_blank()
    sign_in(page)
    page.goto(reverse("order-page", args=[order.public_id]))
    way = page.get_by_role("button", name="Order the 70 mm blank for both lenses.")
    expect(way).to_be_visible()
    expect(page.get_by_text("Tried on this order, and clears it:").first).to_be_visible()
    no_faults_at_both_widths(page)
    way.click()
    expect(page.locator("#judgement")).not_to_contain_text("needs a blank of")
    expect(page.get_by_label("Blank").first).to_have_value("70")
    assert Order.objects.get(pk=order.pk).lenses["left"]["blank_mm"] == 70.0
