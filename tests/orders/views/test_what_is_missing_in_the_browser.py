"""In a real browser: what is still to choose leads to its field and goes once chosen, and the pair worn now is read."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from dispensing.models import WornPair
from orders.models import Order
from tests.accessibility import at_both_widths, no_faults
from tests.browser import sign_in, wired
from tests.orders import shop
from tests.people import person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

NOTHING: dict[str, dict[str, list[str]]] = {"right": {"treatments": ["ar"]}, "left": {"treatments": ["ar"]}}


def fresh_draft() -> Order:
    person("ravi")
    patient = shop.patient(sight_impaired=True)
    shop.worn_pair(patient, tasks="Piano")
    return shop.draft(patient=patient, lenses=NOTHING)


def test_what_is_still_to_choose_leads_to_its_field_and_goes_once_it_is_chosen(page: Page) -> None:
    order = fresh_draft()
    sign_in(page)
    page.goto(reverse("order-page", args=[order.public_id]))
    panel = page.get_by_role("region", name="Still to choose")
    expect(panel.get_by_role("listitem")).to_have_count(3)
    for _ in at_both_widths(page):
        no_faults(page)
    panel.get_by_role("link", name="Choose the lens.").click()
    expect(page.locator("#id_right-design")).to_be_focused()
    page.locator("#id_right-design").select_option("sv")
    expect(panel.get_by_role("listitem")).to_have_count(2)
    wired(page)
    page.locator("#id_right-material").select_option("m160")
    expect(panel.get_by_role("listitem")).to_have_count(1)
    wired(page)
    panel.get_by_role("link", name="Name the one who answers").click()
    expect(page.locator("#id_registered")).to_be_focused()
    page.locator("#id_registered").select_option("ravi")
    expect(panel).to_have_count(0)
    expect(page.locator("#verdict")).to_contain_text("Nothing stands in the way")


def test_the_pair_worn_now_is_read_at_the_desk_and_stands_beside_the_new_powers(page: Page) -> None:
    order = shop.draft()
    sign_in(page, "dora")
    page.goto(reverse("worn-pair-new", args=[order.patient.public_id]))
    for _ in at_both_widths(page):
        no_faults(page)
    page.get_by_role("group", name="Right eye").get_by_label("Sphere").fill("-2.25")
    page.get_by_role("group", name="Right eye").get_by_label("Height").fill("19,5")
    page.get_by_role("group", name="Left eye").get_by_label("Sphere").fill("-2.00")
    page.get_by_label("Worn for").select_option("distance")
    page.get_by_label("Dislikes about it").fill("Slips")
    page.get_by_role("button", name="Record").click()
    worn = page.get_by_role("region", name="Spectacles worn now")
    expect(worn).to_contain_text("right height 19.5 mm")
    expect(worn).to_contain_text("Slips")
    for _ in at_both_widths(page):
        no_faults(page)
    assert WornPair.objects.get().patient == order.patient
    page.goto(reverse("order-page", args=[order.public_id]))
    expect(page.get_by_role("table", name="Pair worn now")).to_contain_text("−2.25")
