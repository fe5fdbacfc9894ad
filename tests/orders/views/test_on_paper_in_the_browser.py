"""The records as a browser prints them: whose they are, nothing that only works on a screen, no ink behind words."""

from __future__ import annotations

from io import BytesIO

import pypdfium2
import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from orders.models import Order
from orders.services.sending import send_order
from tests.browser import sign_in
from tests.known import there
from tests.orders import shop

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WORKS_ON_SCREENS_ONLY = "nav, button, .button, input:not([type=hidden]), select, textarea, .bar, .foot"
PALE = 200  # Of 255: paler than this is paper.


@pytest.fixture
def sent() -> Order:
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=order.version)
    return order


def records(order: Order) -> dict[str, str]:
    """The pages people put into a folder or hand over, and a text that each must show."""
    return {
        reverse("patient-page", args=[order.patient.public_id]): order.patient.reference,
        reverse("prescription-page", args=[there(order.prescription).public_id]): order.patient.full_name,
        reverse("fitting-page", args=[there(order.fitting).public_id]): order.patient.full_name,
        reverse("order-page", args=[order.public_id]): order.number,
        reverse("order-list") + "?place=sent": "Only: Not accepted yet",
    }


def test_on_paper_a_record_has_no_navigation_no_buttons_and_no_fields(page: Page, sent: Order) -> None:
    sign_in(page)
    page.emulate_media(media="print")
    for address in records(sent):
        page.goto(address)
        seen = [element for element in page.locator(WORKS_ON_SCREENS_ONLY).all() if element.is_visible()]
        assert [element.evaluate("element => element.outerHTML.slice(0, 80)") for element in seen] == [], address
        expect(page.locator(".letterhead")).to_be_visible()


def test_each_record_prints_on_white_and_says_whose_it_is(page: Page, sent: Order) -> None:
    sign_in(page)
    for address, says in records(sent).items():
        page.goto(address)
        document = pypdfium2.PdfDocument(BytesIO(page.pdf(format="A4", print_background=True)))
        text = " ".join(document[0].get_textpage().get_text_bounded().split())
        assert "Printed" in text, address
        assert says in text, address
        picture = document[0].render(scale=0.5).to_pil().convert("L")
        dark = sum(picture.histogram()[:PALE]) / (picture.width * picture.height)
        assert dark < 0.1, f"{address} prints {dark:.0%} dark"


def test_on_a_screen_nothing_of_the_letterhead_shows(page: Page, sent: Order) -> None:
    sign_in(page)
    page.goto(reverse("order-page", args=[sent.public_id]))
    expect(page.locator(".letterhead")).to_be_hidden()
