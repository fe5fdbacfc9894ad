"""The whole job through the pages in a real browser, by the three people who share it in a practice.

Dora at the desk registers the patient and takes in the prescription; Ravi measures, draws up the order, settles
what the check asks and sends it; Ines follows it. What they download must pass its schema and the check.
"""

from __future__ import annotations

import io
import json
from datetime import timedelta
from pathlib import Path

import jsonschema
import pypdfium2
import pytest
from django.core import mail
from django.utils import timezone
from playwright.sync_api import Page, expect

from dispensing.models import Patient, Practice
from orders.demo.people import FOLDER, load_labs, read
from orders.demo.records import load_frames
from orders.documents.json_schemas import schema_of
from orders.models import Order
from orders.rules.check_files import run as check_orders
from orders.sending.worker import send_due
from tests.browser import opened, sign_in_by_hand, wired
from tests.people import person

pytestmark = [pytest.mark.browser, pytest.mark.paper, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def _a_practice_with_frames_and_labs() -> None:
    for name in ("dora", "ravi", "ines"):
        person(name)
    Practice.current()
    Practice.objects.filter(pk=1).update(name="Thistledown Opticians", country="GB")
    facts = read("practice.json")
    load_labs(facts, person("ines"))
    load_frames([row for row in read("frames.json") if row["model"] == "Gorse"], person("ravi"))


def sign_out(page: Page) -> None:
    page.locator(".person summary").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.locator("[name=password]")).to_be_visible()


def register_and_take_in(page: Page) -> None:
    sign_in_by_hand(page, "dora")
    page.get_by_role("link", name="Register a patient").click()
    page.get_by_label("Family name").fill("Bláthnaid")
    page.get_by_label("Given names").fill("Róisín")
    page.get_by_label("Date of birth").fill("2 Apr 1968")
    page.get_by_label("Drives").select_option("yes")
    page.keyboard.press("Control+Enter")
    expect(page.locator("h1")).to_have_text("Róisín Bláthnaid")
    page.get_by_role("link", name="Take in a prescription").first.click()
    expect(page.locator("#id_line")).to_be_focused()
    page.keyboard.type("R -3.25/-1.00x170 L -2.75/-0.50x10 add 2.00")
    page.keyboard.press("Enter")
    expect(page.locator("#id_tested_on")).to_be_focused()
    page.keyboard.type((timezone.localdate() - timedelta(days=20)).strftime("%d.%m.%Y"))
    page.get_by_label("Use").select_option("distance_and_near")
    page.get_by_label("Prescriber", exact=False).first.fill("T. Prescriber")
    page.locator("#id_vertex_mm").fill("12")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_text("The prescription is recorded.")).to_be_visible()
    sign_out(page)


def measure(page: Page) -> None:
    sign_in_by_hand(page, "ravi")
    page.locator("body").press("/")
    page.keyboard.type("blathnaid")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("Róisín Bláthnaid")
    page.get_by_role("link", name="Record a fitting").first.click()
    page.get_by_role("link", name="Gorse").first.click()
    figures = {
        "pd_mm-right": "31.5 31.5",
        "pd_mm-left": "32 32",
        "height_mm-right": "20 20.5",
        "height_mm-left": "20.5 20.5",
        "vertex_mm-right": "13",
        "vertex_mm-left": "13",
        "pantoscopic_deg-both": "9",
        "face_form_deg-both": "5",
    }
    page.locator("[name=pre_adjusted]").check()
    for name, readings in figures.items():
        page.locator(f"[name={name}]").fill(readings)
    page.locator("[name=near_distance_mm]").fill("400")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("h1")).to_contain_text("Gorse 52")


def draw_up(page: Page) -> None:
    page.locator(".trail a").first.click()
    page.get_by_role("button", name="New order").click()
    expect(page.locator("h1")).to_contain_text("Order D-00001")
    opened(page, "Lab")
    page.locator("#id_lab").select_option(label="Lantern Yard Lenses")
    page.locator("#id_right-design").select_option("prog-daily")
    page.locator("#id_right-material").select_option("m160")
    # The longest corridor is too long for this height: the check says so at once, and the remedy is tried.
    page.locator("#id_right-corridor_mm").select_option("14")
    opened(page, "Treatments")
    page.get_by_role("checkbox", name="Anti-reflection, easy to clean").check()
    opened(page, "The frame")
    page.locator("#id_frame_source").select_option("enclosed")
    page.locator("#id_needed_on").fill((timezone.localdate() + timedelta(days=14)).isoformat())
    opened(page, "Remarks")
    page.locator("#id_remarks").fill("Match the left lens to the right.")
    page.locator("#id_remarks").blur()
    expect(page.locator("#judgement")).to_contain_text("blank 70")
    expect(page.locator("#judgement svg").first).to_be_visible()


def settle_and_send(page: Page) -> None:
    while (button := page.get_by_role("button", name="Confirm as Ravi Castellan")).count():
        before = button.count()
        wired(page)
        button.first.click()
        expect(button).to_have_count(before - 1)
    expect(page.locator("#judgement")).to_contain_text("Nothing stands in the way")
    page.get_by_role("link", name="Review and send").click()
    # The first PDF of a process loads the typesetter; on a busy machine that takes its time.
    page.get_by_role("button", name="Send to Lantern Yard Lenses").click(timeout=60_000)
    expect(page.get_by_text("Order D-00001 is signed off")).to_be_visible(timeout=60_000)


def download(page: Page, what: str) -> bytes:
    with page.expect_download() as download:
        page.get_by_role("link", name=what, exact=True).click()
    return Path(download.value.path()).read_bytes()


def test_a_pair_is_ordered_from_registration_to_the_lab(page: Page, tmp_path: Path) -> None:
    register_and_take_in(page)
    measure(page)
    draw_up(page)
    settle_and_send(page)
    document = download(page, "JSON")
    sign_out(page)

    sign_in_by_hand(page, "ines")
    page.get_by_role("link", name="Orders", exact=True).first.click()
    page.get_by_role("link", name="D-00001").click()
    pdf = download(page, "PDF")

    jsonschema.Draft202012Validator(schema_of("lens-order/1")).validate(json.loads(document))
    file = tmp_path / "order.json"
    file.write_bytes(document)
    out, err = io.StringIO(), io.StringIO()
    code = check_orders([file], FOLDER / "catalogue-lantern-yard.json", out, err)
    assert (code, err.getvalue()) == (0, "")
    assert json.loads(out.getvalue())["number"] == "D-00001"

    pages = pypdfium2.PdfDocument(pdf)
    assert len(pages) == 1
    text = pages[0].get_textpage().get_text_bounded()
    assert "D-00001" in text
    assert Patient.objects.get().reference in text
    assert "Bláthnaid" not in text  # A lab needs the reference, never the name.

    send_due()
    sent = mail.outbox[0]
    assert sent.to == ["orders@lantern-yard.example"]
    assert {name for name, *_ in sent.attachments} >= {"D-00001-1.pdf", "D-00001-1.json"}
    page.reload()
    expect(page.get_by_text("Sent,").first).to_be_visible()
    assert Order.objects.get().place == "sent"
