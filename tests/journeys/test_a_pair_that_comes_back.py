"""A pair comes in wrong, goes back and is made again; the second is accepted, handed over, and complained about.

Ravi uses keys where a page has a form; every page of the way is checked at a desk's and a telephone's width.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from orders.models import AftercareNote, Decision, Delivery, FinishedReading, HandOver, Order
from orders.services.sending import send_order
from tests.accessibility import no_faults_at_both_widths
from tests.browser import sign_in, wired
from tests.known import there
from tests.orders import shop
from tests.people import person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def first() -> Order:
    """A pair of −2.25 and −2.00 that the lab has; the patient wore another before."""
    of = shop.patient(born_on="1968-04-02")
    worn = {"sphere": -1.50}
    shop.worn_pair(of, worn, worn, read_on=timezone.localdate() - timedelta(days=9), use="distance")
    person("ines")
    order = shop.draft(patient=of)
    send_order(order=order, actor=shop.dispenser(), version=1)
    Delivery.objects.update(state="sent")
    return Order.objects.get(pk=order.pk)


def at(name: str, order: Order) -> str:
    return reverse(name, args=[order.public_id])


def read(page: Page, order: Order, right: str, left: str) -> None:
    page.goto(at("finished-reading", order))
    for eye, sphere, pd in (("right", right, "32"), ("left", left, "31.5")):
        page.locator(f"#id_{eye}-sphere").fill(sphere)
        page.locator(f"#id_{eye}-pd_mm").fill(pd)


def saved(page: Page) -> None:
    page.keyboard.press("Control+Enter")
    expect(page.locator("#finished-title")).to_be_visible()


def misread_and_read_again(page: Page, order: Order) -> None:
    """First the lenses are taken for each other, which fits neither; then the right one is really too strong."""
    read(page, order, "-2.00", "-2.25")
    expect(page.locator("#said-right-sphere")).to_contain_text("Fail")
    page.locator("#id_right-sphere").fill("-2.75")
    page.locator("#id_left-sphere").fill("-2.00")
    expect(page.locator("#said-left-sphere")).to_contain_text("Pass")
    saved(page)
    assert FinishedReading.objects.get().result == "return"


def return_it(page: Page, order: Order) -> Order:
    expect(page.locator("h1")).to_have_text("What becomes of the pair")
    no_faults_at_both_widths(page)
    page.get_by_label("Accept it: it is as ordered").focus()
    page.keyboard.press("Space")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_text("does not say that this pair is as ordered")).to_be_visible()
    page.get_by_label("Accept it: it is as ordered").focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    expect(page.get_by_label("Return it to the lab")).to_be_checked()
    expect(page.get_by_label("Who allows the concession")).to_be_hidden()
    page.keyboard.press("Tab")
    page.keyboard.type("Power")
    page.keyboard.press("Tab")
    page.keyboard.type("Right −2.75, ordered −2.25")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    expect(page.get_by_label("Order it again")).to_be_checked()
    page.keyboard.press("Control+Enter")
    expect(page.locator("#remake-title")).to_have_text(f"Remake of {order.number}")
    return there(order.remakes.first())


def send_the_remake(page: Page, remake: Order) -> None:
    expect(page.get_by_text("Nothing changes: the same pair is ordered again.")).to_be_visible()
    expect(page.get_by_text("Power not as ordered; the lab's.")).to_be_visible()
    page.locator("#id_needed_on").fill((timezone.localdate() + timedelta(days=14)).strftime("%d.%m.%Y"))
    page.locator("#id_needed_on").blur()
    while (button := page.get_by_role("button", name="Confirm as Ravi Castellan")).count():
        before = button.count()
        wired(page)
        button.first.click()
        expect(button).to_have_count(before - 1)
    page.goto(at("order-send", remake))
    page.get_by_role("button", name="Send to Quay Street Lab").click()
    expect(page.get_by_text(f"Order {remake.number} is")).to_be_visible()
    Delivery.objects.update(state="sent")


def accept_it(page: Page, remake: Order) -> None:
    read(page, remake, "-2.25", "-2.00")
    expect(page.locator("#reading-verdict strong")).to_have_text("As ordered")
    saved(page)
    expect(page.locator("h1")).to_have_text("What becomes of the pair")
    page.get_by_label("Accept it: it is as ordered").check()
    page.keyboard.press("Control+Enter")
    expect(page.get_by_text("is checked and passed")).to_be_visible()


def hand_it_over(page: Page, remake: Order) -> None:
    page.get_by_role("textbox", name="Tray").fill("A7")
    page.get_by_role("button", name="Put it there").click()
    expect(page.get_by_text("It lies in tray A7.")).to_be_visible()
    page.get_by_role("link", name="Hand it over").click()
    no_faults_at_both_widths(page)
    page.get_by_label("Patient's reference").focus()
    page.keyboard.type(remake.patient.reference)
    page.keyboard.press("Tab")
    page.keyboard.type("2 Apr 1986")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_role("alert").get_by_text("This is not the birth date on record")).to_be_visible()
    no_faults_at_both_widths(page)
    page.get_by_label("Date of birth").fill("2 Apr 1968")
    page.get_by_label("Seen with it").fill("R 6/6, L 6/6")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_text("is handed over")).to_be_visible()
    page.get_by_role("link", name="Patient’s copy").click()
    expect(page.locator("h1")).to_have_text("Your spectacles")
    no_faults_at_both_widths(page)


def complain(page: Page, remake: Order) -> None:
    page.goto(at("order-page", remake))
    no_faults_at_both_widths(page)
    page.get_by_role("link", name="Aftercare").click()
    no_faults_at_both_widths(page)
    page.get_by_label("The wearer complained").check()
    expect(page.get_by_label("What was done, and how")).to_be_hidden()
    no_faults_at_both_widths(page)
    page.get_by_label("In the wearer's words").fill("The floor is too near.")
    page.keyboard.press("Control+Enter")
    expect(page.locator("h1")).to_have_text("What differs")
    first_row = page.get_by_role("region", name="Differences. Against: Worn before").locator("tbody tr").first
    expect(first_row).to_contain_text("Mean power")
    expect(first_row).to_contain_text("−0.75 D")
    expect(first_row).to_contain_text("likely")
    no_faults_at_both_widths(page)


def test_a_pair_goes_back_is_made_again_and_the_wearer_is_listened_to(page: Page, first: Order) -> None:
    sign_in(page, "ravi")
    misread_and_read_again(page, first)
    remake = return_it(page, first)
    send_the_remake(page, remake)
    assert Order.objects.get(pk=first.pk).place == "made again"
    accept_it(page, remake)
    hand_it_over(page, remake)
    complain(page, remake)
    row = Order.objects.get(pk=remake.pk)
    assert (row.place, row.tray, row.remake_cause, row.remake_whose) == ("handed over", "", "power", "lab")
    assert (Decision.objects.get().event.order, HandOver.objects.get().acuity) == (first, "R 6/6, L 6/6")
    assert AftercareNote.objects.get().words == "The floor is too near."


def test_the_figures_of_a_lab_can_be_read_by_everybody(page: Page, first: Order) -> None:
    sign_in(page, "ravi")
    read(page, first, "-2.75", "-2.00")
    saved(page)
    sign_in(page, "ines")
    for name, picture in (("lab-hand", "img.drift"), ("figures", "img.shares")):
        page.goto(reverse(name))
        drawn = page.locator(picture).first
        drawn.scroll_into_view_if_needed()
        expect(drawn).to_have_js_property("complete", True)
        assert drawn.evaluate("picture => picture.naturalWidth") > 0
        no_faults_at_both_widths(page)
    remakes = page.get_by_role("table", name="Made again")
    expect(remakes.get_by_role("columnheader", name="Pairs")).to_be_visible()
    expect(remakes.get_by_role("row", name="All").get_by_role("cell").first).to_have_text("1")
    page.goto(reverse("lab-hand"))
    page.get_by_role("link", name="Power, stronger meridian").click()
    expect(page.get_by_role("region", name="Pairs, as a table")).to_contain_text(first.number)
    no_faults_at_both_widths(page)
