"""The reading page in a real browser: keys suffice, answers never touch a field, a scanner may type anywhere."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from orders.models import FinishedReading, Order
from tests.accessibility import at_both_widths, no_faults
from tests.browser import sign_in
from tests.orders import shop
from tests.orders.views.test_reading_a_finished_pair import sent

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def reading(page: Page, order: Order) -> None:
    sign_in(page)
    page.goto(reverse("finished-reading", args=[order.public_id]))
    expect(page.locator("#reading-verdict")).to_contain_text("Nothing is read yet")


def typed(page: Page, *keys: str) -> None:
    """One field after the other, each ended with Enter."""
    for text in keys:
        page.keyboard.type(text)
        page.keyboard.press("Enter")


def test_a_pair_is_read_and_saved_with_keys_alone(page: Page) -> None:
    order = sent()
    reading(page, order)
    page.locator("#id_right-sphere").focus()
    typed(page, "-2.25", "", "", "", "", "", "", "", "32", "20")
    expect(page.locator("#said-right-sphere")).to_contain_text("Pass")
    page.locator("#id_right-sphere").focus()
    page.keyboard.press("ArrowDown")
    expect(page.locator("#id_left-sphere")).to_be_focused()
    typed(page, "-2.00", "", "", "", "", "", "", "", "31.5", "20")
    expect(page.locator("#reading-verdict strong")).to_have_text("As ordered")
    page.keyboard.press("Control+Enter")
    page.wait_for_url(f"**{reverse('order-decide', args=[order.public_id])}")
    assert FinishedReading.objects.get().result == "accept"


def test_an_answer_leaves_the_field_its_text_and_the_cursor_alone(page: Page) -> None:
    reading(page, sent())
    field = page.locator("#id_right-sphere")
    field.fill("-2.75")
    expect(page.locator("#said-right-sphere")).to_contain_text("Fail")
    field.evaluate("(field) => { field.dataset.same = 'yes'; field.focus(); field.setSelectionRange(1, 2); }")
    page.keyboard.type("3")
    expect(page.locator("#said-right-sphere")).to_contain_text("−3.75")
    expect(field).to_have_value("-3.75")
    expect(field).to_be_focused()
    assert field.evaluate("(field) => [field.dataset.same, field.selectionStart]") == ["yes", 2]


def test_a_pasted_text_fills_empty_fields_and_names_what_it_keeps(page: Page) -> None:
    reading(page, sent())
    page.locator("#id_left-sphere").fill("-2.12")
    page.locator("#id_pasted").fill("R -2.25\nL -2.00\nSN 4711")
    page.get_by_role("button", name="Take over").click()
    expect(page.locator("#id_right-sphere")).to_have_value("-2.25")
    expect(page.locator("#id_left-sphere")).to_have_value("-2.12")
    expect(page.locator("#pasted")).to_contain_text("-2.12 stays, -2.00 was pasted")
    expect(page.locator("#pasted")).to_contain_text("“SN” is not understood.")
    expect(page.locator("#said-right-sphere")).to_contain_text("Pass")


def test_exchanged_readings_are_exchanged_with_one_press(page: Page) -> None:
    of = shop.patient()
    reading(page, sent(patient=of, prescription=shop.prescription(of, right={"sphere": -3}, left={"sphere": -2})))
    page.locator("#id_right-sphere").fill("-2.00")
    page.locator("#id_left-sphere").fill("-3.00")
    page.get_by_role("button", name="Exchange the readings").click()
    expect(page.locator("#id_right-sphere")).to_have_value("-3.00")
    expect(page.locator("#id_left-sphere")).to_have_value("-2.00")
    expect(page.locator("#said-left-sphere")).to_contain_text("Pass")


def test_a_ticket_scanned_into_a_reading_goes_where_it_belongs_and_another_orders_is_named(page: Page) -> None:
    order = sent()
    reading(page, order)
    page.locator("#id_right-sphere").focus()
    typed(page, f"-2.25{order.number}")
    expect(page.locator("#id_right-sphere")).to_have_value("-2.25")
    expect(page.locator("#ticket-said")).to_have_text(f"This is the ticket of this order, {order.number}.")
    page.locator("#ticket").fill("")
    page.locator("#ticket").focus()
    typed(page, "D-99999")
    expect(page.locator("#ticket-said")).to_contain_text(f"of D-99999, not of this order, {order.number}")
    expect(page.locator("#id_right-sphere")).to_have_value("-2.25")
    assert not FinishedReading.objects.exists(), "A scanner's Enter saves nothing."


def test_the_code_of_a_ticket_opens_the_pair(page: Page) -> None:
    order = sent()
    sign_in(page)
    page.goto(reverse("finished-ticket"))
    expect(page.get_by_label("Order number on the ticket")).to_be_focused()
    typed(page, order.number)
    expect(page.locator("h1")).to_have_text(f"Finished pair of order {order.number}")


def test_everybody_can_use_the_page_with_faults_and_verdicts_on_it(page: Page) -> None:
    order = sent()
    reading(page, order)
    for _ in at_both_widths(page):
        no_faults(page)
    page.locator("#id_right-sphere").fill("-2.75")
    page.locator("#id_right-axis").fill("90")
    page.locator("#id_left-prism_vertical").fill("1")
    page.locator("#id_right-pd_mm").fill("34")
    page.locator("#id_pasted").fill("L -2.00\nSN 4711")
    page.get_by_role("button", name="Take over").click()
    expect(page.locator("#said-right-sphere")).to_contain_text("Fail")
    expect(page.locator("#reading-drawings svg").first).to_be_visible()
    for _ in at_both_widths(page):
        no_faults(page)
    page.get_by_role("button", name="Save the reading").click()
    expect(page.locator("[data-error-summary]")).to_be_visible()
    for _ in at_both_widths(page):
        no_faults(page)
    page.goto(reverse("finished-ticket"))
    for _ in at_both_widths(page):
        no_faults(page)
