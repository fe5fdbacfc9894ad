"""A standard order from the patient's page to the lab, counted: at most 12 clicks, or 60 keys, without a question.

The practice's usual lab, design, coating, supply and days are offered, so that what is left to say is the material.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from dispensing.models import Patient
from orders.demo.people import load_labs, read
from orders.models import Order
from tests.browser import sign_in
from tests.orders import shop
from tests.people import person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

MOST_CLICKS, MOST_KEYS = 12, 60
MATERIAL = "Plastic 1.60"


@pytest.fixture
def patient() -> Patient:
    """With a prescription, a fitting and another pair at home; the practice has its labs and what it usually orders."""
    shop.practice()
    load_labs(read("practice.json"), person("ines"))
    found = shop.patient()
    shop.prescription(found)
    shop.fitting(found, shop.frame())
    return found


def counted(page: Page) -> tuple[Callable[[], dict[str, int]], dict[str, int]]:
    """Clicks and keys from now on, over all pages."""
    count = {"clicks": 0, "keys": 0}
    page.expose_function("counted", lambda what: count.__setitem__(what, count[what] + 1))
    page.add_init_script(
        """for (const [kind, what] of [["pointerdown", "clicks"], ["keydown", "keys"]]) {
            addEventListener(kind, (event) => event.isTrusted && counted(what), true);
        }"""
    )
    return lambda: count, count


def is_sent(page: Page, patient: Patient) -> None:
    expect(page.get_by_text("Order D-00001 is signed off")).to_be_visible(timeout=60_000)
    order = Order.objects.get(patient=patient)
    lens = {"design": "sv-made", "material": "m160", "treatments": ["clear-coat"]}
    assert (order.state, order.lenses) == ("sent", {"right": lens, "left": lens})
    assert (str(order.lab), order.supply, order.frame_source) == ("Lantern Yard Lenses", "fitted", "enclosed")


def test_by_mouse_it_takes_at_most_twelve_clicks(page: Page, patient: Patient) -> None:
    now, _ = counted(page)
    sign_in(page, "ravi")
    page.goto(reverse("patient-page", args=[patient.public_id]))
    page.get_by_role("button", name="New order").first.click()
    # One click opens the list and one chooses in it; a browser's own list is no part of the page, so both are counted.
    page.locator("#id_right-material").select_option(label=MATERIAL)
    now()["clicks"] += 2
    expect(page.locator("#verdict")).to_contain_text("Nothing stands in the way")
    page.get_by_role("link", name="Review and send").click()
    page.get_by_role("button", name="Send to Lantern Yard Lenses").click()
    is_sent(page, patient)
    assert 0 < now()["clicks"] <= MOST_CLICKS
    assert now()["keys"] == 0


def test_by_keyboard_it_takes_at_most_sixty_keys(page: Page, patient: Patient) -> None:
    now, _ = counted(page)
    sign_in(page, "ravi")
    page.goto(reverse("patient-page", args=[patient.public_id]))
    skip(page)
    tab_to(page, page.get_by_role("button", name="New order").first)
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_contain_text("Order D-00001")
    skip(page)
    tab_to(page, page.locator("#id_right-material"))
    page.keyboard.type(MATERIAL)
    page.keyboard.press("Control+Enter")
    expect(page.locator("h1")).to_contain_text("Send order")
    skip(page)
    tab_to(page, page.get_by_role("button", name="Send to Lantern Yard Lenses"))
    page.keyboard.press("Enter")
    is_sent(page, patient)
    assert now()["clicks"] == 0
    assert 0 < now()["keys"] <= MOST_KEYS


def skip(page: Page) -> None:
    """Past the bar of every page, as somebody who works by keyboard does."""
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    page.keyboard.press("Enter")


def tab_to(page: Page, target: Locator) -> None:
    for _ in range(MOST_KEYS):
        if target.evaluate("node => node === document.activeElement"):
            return
        page.keyboard.press("Tab")
    raise AssertionError("No tab led there.")
