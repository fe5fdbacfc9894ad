"""A manager looks at a catalogue and at a price list in a real browser, confirms what is unusual, and uses them."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from orders.models import Catalogue, PriceList
from tests.accessibility import no_faults_at_both_widths
from tests.browser import sign_in
from tests.orders import shop

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def upload(page: Page, name: str, content: bytes) -> None:
    page.locator("[type=file]").set_input_files({"name": name, "mimeType": "text/plain", "buffer": content})
    page.get_by_role("button", name="Look at it").click()


def test_a_catalogue_is_looked_at_confirmed_and_used(page: Page) -> None:
    order = shop.draft()
    material = {**shop.CATALOGUE["materials"][0], "density_g_cm3": 4.5}
    sign_in(page, "ines")
    page.goto(reverse("lab-page", args=[shop.lab().public_id]))
    upload(page, "catalogue.json", shop.catalogue_bytes(materials=[{**material, "index": 14.98}]))
    expect(page.get_by_role("alert")).to_contain_text("Refractive index of the material “1.60” is 14.98")
    upload(page, "catalogue.json", shop.catalogue_bytes(materials=[material]))
    expect(page.locator("h1")).to_have_text("Catalogue of 1 November 2026")
    expect(page.get_by_role("link", name=order.number)).to_be_visible()
    no_faults_at_both_widths(page)
    page.get_by_role("button", name="Use this catalogue").click()
    expect(page.locator("form")).to_contain_text(["Not confirmed yet"])
    page.get_by_label("Density of the material").check()
    page.get_by_role("button", name="Use this catalogue").click()
    expect(page.get_by_text("is in use.")).to_be_visible()
    assert Catalogue.objects.get(in_use=True).confirmed[0]["by"] == "Ines Holloway"


def test_a_price_list_with_faults_is_mended_looked_at_and_used(page: Page) -> None:
    shop.lab()
    sign_in(page, "ines")
    page.goto(reverse("lab-list"))
    page.get_by_role("link", name="Our price list").click()
    upload(page, "prices.csv", b"design,amount,currency\nsv,ten,EUR\nprog,1,euro\n")
    expect(page.get_by_role("alert").locator("li")).to_have_count(2)
    no_faults_at_both_widths(page)
    upload(page, "prices.csv", b"design,amount,currency\nsv,10,EUR\nglass,1,EUR\n")
    expect(page.get_by_text("Line 3: glass, a lens")).to_be_visible()
    no_faults_at_both_widths(page)
    page.get_by_role("button", name="Use this list").click()
    expect(page.get_by_text("This price list is in use")).to_be_visible()
    assert PriceList.objects.filter(in_use=True).count() == 1
