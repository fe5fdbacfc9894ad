"""The sheet of a fitting in a real browser: in one screen, typed by keyboard alone, without faults at both widths."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from dispensing.models import Fitting, Measurement
from tests.accessibility import no_faults, no_faults_at_both_widths
from tests.browser import DESK, sign_in
from tests.builders import a_frame, a_patient
from tests.known import there

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def sheet(page: Page) -> Page:
    sign_in(page, "ravi")
    page.goto(reverse("fitting-record", args=[a_patient().public_id, a_frame().public_id]))
    return page


def test_the_seven_figures_and_the_button_stand_in_one_screen(sheet: Page) -> None:
    fields = sheet.locator(".fitting-line input")
    assert fields.count() == 4 * 2 + 3
    for part in (*fields.all(), sheet.get_by_role("button", name="Save")):
        box = there(part.bounding_box())
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= DESK["height"]
    no_faults_at_both_widths(sheet)


def test_arrows_lead_to_the_other_eye_and_the_next_figure_and_leave_the_caret_its_own(sheet: Page) -> None:
    def field(name: str) -> Locator:
        return sheet.locator(f'[name="{name}"]')

    field("pd_mm-right").focus()
    sheet.keyboard.type("31.5")
    sheet.keyboard.press("ArrowRight")
    expect(field("pd_mm-left")).to_be_focused()
    sheet.keyboard.type("32")
    sheet.keyboard.press("ArrowDown")
    expect(field("binocular_pd_mm-both")).to_be_focused()
    sheet.keyboard.press("ArrowDown")
    sheet.keyboard.press("ArrowDown")
    expect(field("height_mm-right")).to_be_focused()
    sheet.keyboard.type("212")
    sheet.keyboard.press("ArrowLeft")
    expect(field("height_mm-right")).to_be_focused()
    sheet.keyboard.press("Backspace")
    expect(field("height_mm-right")).to_have_value("22")
    sheet.keyboard.press("End")
    sheet.keyboard.press("ArrowRight")
    expect(field("height_mm-left")).to_be_focused()
    sheet.keyboard.type("22.5")
    sheet.keyboard.press("Control+Enter")
    expect(sheet.locator("h1")).to_contain_text("Fitting in")
    kept = Measurement.objects.filter(fitting=Fitting.objects.get()).values_list("quantity", "eye", "value")
    assert {(quantity, eye): float(value) for quantity, eye, value in kept} == {
        ("pd_mm", "right"): 31.5,
        ("pd_mm", "left"): 32.0,
        ("height_mm", "right"): 22.0,
        ("height_mm", "left"): 22.5,
    }


def test_an_unusual_figure_is_marked_in_its_field_while_it_is_typed(sheet: Page) -> None:
    tilt, height = sheet.locator('[name="pantoscopic_deg-both"]'), sheet.locator('[name="height_mm-right"]')
    height.fill("21")
    tilt.fill("15")
    expect(sheet.locator("#told-pantoscopic_deg-both")).to_contain_text("15° is unusual")
    expect(tilt).to_have_css("border-top-width", "2px")
    expect(height).to_have_css("border-top-width", "1px")
    expect(sheet.locator("#said-height_mm-right")).to_have_text("21 mm ± 0.9")
    no_faults(sheet)
    tilt.fill("10")
    expect(sheet.locator("#told-pantoscopic_deg-both")).to_have_text("")
    expect(tilt).to_have_css("border-top-width", "1px")


def test_the_last_pds_are_taken_over_by_one_press_as_copied(page: Page) -> None:
    sign_in(page, "ravi")
    patient, frame = a_patient(), a_frame()
    page.goto(reverse("fitting-record", args=[patient.public_id, frame.public_id]))
    page.locator('[name="pd_mm-right"]').fill("31.5")
    page.locator('[name="pd_mm-left"]').fill("32")
    page.keyboard.press("Control+Enter")
    expect(page.locator("h1")).to_contain_text("Fitting in")
    page.goto(reverse("fitting-record", args=[patient.public_id, frame.public_id]))
    page.get_by_role("button", name="Take over the last").press("Enter")
    expect(page.locator('[name="pd_mm-right"]')).to_be_focused()
    expect(page.locator('[name="pd_mm-left"]')).to_have_value("32")
    expect(page.locator('[name="pd_mm-method"]')).to_have_value("copied")
    expect(page.locator("#said-pd_mm-right")).to_contain_text("31.5 mm · last 31.5 on")
    save = there(page.get_by_role("button", name="Save").bounding_box())
    assert save["y"] + save["height"] <= DESK["height"]
    no_faults_at_both_widths(page)
