"""The day of three roles as they work through it: by keyboard, on a telephone, without a fault for axe."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from orders.models import Order
from tests.accessibility import at_both_widths, no_faults
from tests.browser import TELEPHONE, sign_in
from tests.orders import shop

NO_PICTURE = '<svg xmlns="http://www.w3.org/2000/svg" width="1" height="1"/>'

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def here(place: str, reference: str, days: int = 0) -> Order:
    person = shop.patient(reference, family_name=f"Of {reference}", phone="01632 960222")
    order = shop.brought_to(place, shop.draft(patient=person))
    Order.objects.filter(pk=order.pk).update(place_since=timezone.now() - timedelta(days=days))
    shop.delivery(order, "sent")
    return order


def test_a_day_at_the_desk_at_the_bench_and_at_the_board(page: Page) -> None:
    called, other = here("checked, patient not told", "P-1"), here("checked, patient not told", "P-2")
    asked, long = here("query to answer", "P-3", days=2), here("ready to collect", "P-4", days=31)
    sign_in(page, "dora")
    page.goto(reverse("desk-day"))
    for _ in at_both_widths(page):
        no_faults(page)
    row = page.locator(f"tr[id='{called.number}']")
    row.get_by_label(f"Note on {called.number}").focus()
    page.keyboard.type("With her son")
    for _ in range(3):  # past Note and Told
        page.keyboard.press("Tab")
    expect(row.get_by_role("button", name="Left a message")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_text("“A message was left for the patient” is noted.")).to_be_visible()
    expect(row).to_contain_text("message left by Dora Penhallow: With her son")
    row.get_by_role("button", name="Told").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("region", name="Ready to collect").get_by_text(called.number).first).to_be_visible()
    expect(page.get_by_role("region", name="To be told")).not_to_contain_text(called.number)
    expect(page.get_by_role("region", name="To be told")).to_contain_text(other.number)
    expect(page.get_by_role("region", name="Questions from labs")).to_contain_text(asked.number)
    page.get_by_role("link", name="30 days or more").click()
    expect(page.get_by_role("region", name="Ready to collect").locator("tbody tr")).to_have_count(1)
    expect(page.locator(f"tr[id='{long.number}']")).to_contain_text("not collected for 30 days or more")

    page.emulate_media(media="print")
    expect(page.get_by_role("link", name="01632 960222").first).to_be_visible()
    expect(page.get_by_role("button", name="Told").first).to_be_hidden()
    page.emulate_media(media="screen")

    passed_on = page.locator(f"tr[id='{asked.number}']")
    passed_on.get_by_role("button", name="Passed on").focus()
    page.keyboard.press("Enter")
    expect(passed_on).to_contain_text("Question passed on to")

    in_the_box = here("in, to be checked", "P-5")
    sign_in(page, "ravi")
    page.goto(reverse("desk-day"))
    expect(passed_on).to_contain_text("note by Dora Penhallow: Question passed on to")
    passed_on.get_by_role("link", name="Answer").focus()
    page.keyboard.press("Enter")
    page.get_by_label("Answer", exact=True).focus()
    page.keyboard.type("The frame left this morning")
    page.keyboard.press("Enter")
    expect(page.get_by_text("The frame left this morning").first).to_be_visible()
    expect(page.get_by_role("region", name="asks")).to_have_count(0)
    page.goto(reverse("order-page", args=[in_the_box.public_id]))
    page.get_by_role("combobox", name="What happened").select_option("passed")
    page.get_by_role("button", name="Add", exact=True).focus()
    page.keyboard.press("Enter")
    expect(page.locator(".lede")).to_contain_text("Checked, patient not told")
    page.goto(reverse("desk-day"))
    expect(page.get_by_role("region", name="To be told")).to_contain_text(in_the_box.number)
    expect(page.get_by_role("region", name="Questions from labs")).to_contain_text("No lab waits for an answer.")

    asked = here("query to answer", "P-6", days=2)
    sign_in(page, "ines")
    page.goto(reverse("order-list"))
    page.get_by_role("link", name="Stuck ones first").click()
    expect(page.locator("tbody tr").first).to_contain_text(asked.number)
    page.get_by_role("columnheader", name="There for").get_by_role("link").click()
    expect(page.get_by_role("columnheader", name="There for")).to_have_attribute("aria-sort", "ascending")
    expect(page.locator("tbody tr").first).to_contain_text(long.number)
    page.set_viewport_size(TELEPHONE)
    page.goto(reverse("order-list"))
    first = page.locator("tbody tr").first.bounding_box()
    assert first is not None
    assert first["y"] + 100 < TELEPHONE["height"], "An order shows in the first screen of a telephone."
    no_faults(page)
    page.get_by_role("searchbox", name="Find an order").fill("d-4")
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(f"{reverse('order-page', args=[long.public_id])}$"))
    # Drawing has tests of its own, and a picture asked for when the test ends would outlive its database.
    page.route("**/chart.svg*", lambda route: route.fulfill(content_type="image/svg+xml", body=NO_PICTURE))
    page.goto(reverse("figures"))
    for _ in at_both_widths(page):
        no_faults(page)
    table = page.get_by_role("table", name="From sent to ready")
    expect(table.get_by_role("columnheader", name="Nine in ten within, days")).to_be_visible()
    whole = table.get_by_role("row").filter(has=page.get_by_role("rowheader", name="All"))
    expect(whole.get_by_role("cell").first).to_have_text("4")
