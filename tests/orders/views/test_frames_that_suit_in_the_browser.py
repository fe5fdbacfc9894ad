"""Frames that suit in a real browser: asked for by keyboard, without faults of accessibility at both widths."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.accessibility import no_faults_at_both_widths
from tests.browser import sign_in
from tests.orders import shop

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_pds_are_typed_and_frames_compared_without_a_mouse(page: Page) -> None:
    patient = shop.patient()
    shop.prescription(patient)
    shop.lab()
    shop.frame(model="Alder", in_stock=1)
    shop.frame(model="Wide", a_mm=60, ed_mm=63, in_stock=1, colour="Moss")
    sign_in(page, "ravi")
    page.goto(reverse("patient-frames", args=[patient.public_id]))
    page.locator("#id_pd_right").focus()
    page.keyboard.type("31")
    page.keyboard.press("Tab")
    page.keyboard.type("30.5")
    page.keyboard.press("Enter")
    row = page.locator("tbody").filter(has_text="Alder")
    expect(row).to_contain_text("3.0 mm in")
    expect(page.locator("#id_pd_left")).to_have_value("30.5")
    assert "30.5" not in page.url
    page.get_by_role("button", name="Weight", exact=True).press("Enter")
    expect(page.get_by_role("button", name="Weight", exact=True)).to_have_attribute("aria-pressed", "true")
    expect(row).to_contain_text("3.0 mm in")
    no_faults_at_both_widths(page)
    row.get_by_role("link", name="measure in it").click()
    expect(page.locator("h1")).to_contain_text("in Alder")


def test_the_frames_of_a_draft_are_put_in_order_and_turned_page_by_page_without_fault(page: Page) -> None:
    order = shop.draft(frame=shop.frame(in_stock=1))
    for number in range(30):
        shop.frame(model=f"Frame {number}", a_mm=44 + number / 2, ed_mm=48 + number / 2, in_stock=1)
    sign_in(page, "ravi")
    page.goto(reverse("order-frames", args=[order.public_id]))
    expect(page.locator("caption")).to_contain_text("31 frames in stock")
    no_faults_at_both_widths(page)
    page.get_by_role("button", name="Weight", exact=True).click()
    expect(page.locator("tbody").first).to_contain_text("Frame 0")
    page.get_by_role("button", name="Next page").click()
    expect(page.locator("caption")).to_contain_text("page 2 of 2")
    expect(page.get_by_role("button", name="Weight", exact=True)).to_have_attribute("aria-pressed", "true")
    expect(page.locator("tbody").last).to_contain_text("Frame 29")
    page.get_by_role("button", name="Thickest", exact=True).click()
    expect(page.get_by_role("button", name="Thickest", exact=True)).to_have_attribute("aria-pressed", "true")
    expect(page.locator("caption")).to_contain_text("page 1 of 2")
