"""From one prescription with an add two pairs are begun; the one for reading goes to the lab as a reading pair.

Once, such an order left with the sphere for the distance and the far PDs.
"""

from __future__ import annotations

import io
import json
from datetime import timedelta
from pathlib import Path

import pypdfium2
import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from orders.models import Order
from tests.accessibility import no_faults_at_both_widths
from tests.browser import opened, sign_in, wired
from tests.orders import shop
from tests.orders.views.test_what_is_made import READER

pytestmark = [pytest.mark.browser, pytest.mark.paper, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def _somebody_who_reads() -> None:
    shop.practice()
    shop.lab()
    person = shop.patient("P-90066", born_on="1960-04-02")
    shop.prescription(person, **READER, use="distance_and_near")
    shop.fitting(person, shop.frame(), near_pd_mm_right=29.5, near_pd_mm_left=29.0)


def open_the_reading_pair(page: Page) -> Order:
    sign_in(page, "ravi")
    page.goto(reverse("patient-page", args=[shop.patient("P-90066").public_id]))
    page.get_by_role("button", name="Distance and near").click()
    expect(page.get_by_text("is for distance. Also begun")).to_be_visible()
    near = Order.objects.get(use="near")
    page.goto(reverse("order-page", args=[near.public_id]))
    return near


def choose(page: Page) -> None:
    opened(page, "Lab")
    page.locator("#id_lab").select_option(label="Quay Street Lab")
    page.locator("#id_right-design").select_option("sv")
    page.locator("#id_right-material").select_option("m160")
    opened(page, "Treatments")
    page.get_by_role("checkbox", name="Anti-reflection").check()
    opened(page, "The frame")
    page.locator("#id_frame_source").select_option("enclosed")
    page.locator("#id_needed_on").fill((timezone.localdate() + timedelta(days=14)).isoformat())
    page.locator("#id_needed_on").blur()


def download(page: Page, what: str) -> bytes:
    with page.expect_download() as download:
        page.get_by_role("link", name=what, exact=True).click()
    return Path(download.value.path()).read_bytes()


def test_the_reading_pair_is_made_with_the_add_and_at_the_near_pds(page: Page) -> None:
    near = open_the_reading_pair(page)
    choose(page)
    powers = page.locator("table.powers")
    page.locator("#fold-powers > summary").click()
    expect(powers.get_by_role("row", name="Ordered")).to_have_text("Ordered+4.25 −0.50 × 90+3.75")
    expect(powers.get_by_role("row", name="PD used")).to_have_text("PD used29.5 mm, near29.0 mm, near")
    no_faults_at_both_widths(page)

    # For the distance, and back: the page follows at once.
    opened(page, "This pair is for")
    page.locator("#id_use").select_option("distance")
    expect(powers.get_by_role("row", name="Ordered")).to_have_text("Ordered+1.75 −0.50 × 90+1.25")
    expect(powers.get_by_role("row", name="PD used")).to_have_text("PD used32.0 mm, far31.5 mm, far")
    page.locator("#id_use").select_option("near")
    expect(powers.get_by_role("row", name="Ordered")).to_have_text("Ordered+4.25 −0.50 × 90+3.75")

    while (button := page.get_by_role("button", name="Confirm as Ravi Castellan")).count():
        before = button.count()
        wired(page)
        button.first.click()
        expect(button).to_have_count(before - 1)
    page.get_by_role("link", name="Review and send").click()
    # The first PDF of a process loads the typesetter; on a busy machine that takes its time.
    page.get_by_role("button", name="Send to Quay Street Lab").click(timeout=60_000)
    expect(page.get_by_text(f"Order {near.number} is signed off")).to_be_visible(timeout=60_000)
    expect(powers.get_by_role("row", name="Ordered")).to_have_text("Ordered+4.25 −0.50 × 90+3.75")

    lenses = json.loads(download(page, "JSON"))["lenses"]
    assert [lenses[eye]["power"]["sphere"] for eye in ("right", "left")] == [4.25, 3.75]
    paper = pypdfium2.PdfDocument(io.BytesIO(download(page, "PDF")))[0].get_textpage().get_text_range()
    made = paper[paper.index("To be made") : paper.index("Prescription")]
    assert "+4.25 -0.50 90" in " ".join(made.split())
    assert "29.5 near" in made
    assert "For near. Back vertex powers for the test's vertex distance (12.0 mm)" in " ".join(made.split())
