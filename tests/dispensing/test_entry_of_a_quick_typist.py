"""Keys and presses that come before the page or an answer has arrived are not lost, and neither is what was typed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date

import pytest
from django.urls import reverse
from playwright.sync_api import Page, Route, expect

from dispensing.models import Patient
from dispensing.services.patients import register_patient
from tests.browser import sign_in, wired
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db(transaction=True)

LINE = "R -3.25/-1.00x170 L -2.75/-0.50x10 add 2.00"


@pytest.fixture
def patient() -> Patient:
    return register_patient(
        actor=person("ravi"), family_name="Penhallow", given_names="Margery", born_on=date(1968, 4, 2), driver=True
    )


@contextmanager
def held(page: Page, address: str) -> Iterator[list[Route]]:
    """While this lasts, what is asked of the address gets no answer; afterwards it does."""
    waiting: list[Route] = []
    over = False

    def hold(route: Route) -> None:
        if over:
            route.continue_()
        else:
            waiting.append(route)

    page.route(address, hold)
    yield waiting
    over = True
    for route in waiting:
        route.continue_()


def entry_from_the_patient(page: Page, patient: Patient) -> None:
    page.get_by_role("link", name="Take in a prescription").first.click()
    expect(page.locator("#id_line")).to_be_focused()


@pytest.mark.browser
def test_enter_after_the_line_counts_before_the_scripts_have_arrived(page: Page, patient: Patient) -> None:
    sign_in(page, "dora")
    page.goto(reverse("patient-page", args=[patient.public_id]))
    with held(page, "**/*.js"):
        entry_from_the_patient(page, patient)
        page.keyboard.type(LINE)
        page.keyboard.press("Enter")
        expect(page.locator("#id_line")).to_have_value(f"{LINE}\n")
    expect(page.locator("#id_tested_on")).to_be_focused()
    expect(page.locator("#id_left-axis")).to_have_value("10")


@pytest.mark.browser
def test_a_line_typed_before_the_scripts_have_arrived_waits_for_enter(page: Page, patient: Patient) -> None:
    sign_in(page, "dora")
    page.goto(reverse("patient-page", args=[patient.public_id]))
    with held(page, "**/*.js"):
        entry_from_the_patient(page, patient)
        page.keyboard.type(LINE)
    page.wait_for_load_state()
    expect(page.locator("#id_left-axis")).to_have_value("")
    page.keyboard.press("Enter")
    expect(page.locator("#id_left-axis")).to_have_value("10")


@pytest.mark.browser
def test_an_answer_that_comes_during_a_press_does_not_take_the_button(page: Page, patient: Patient) -> None:
    sign_in(page, "dora")
    page.goto(reverse("prescription-new", args=[patient.public_id]))
    typed = {"right-sphere": "-3.25", "right-cylinder": "-1.00", "right-axis": "170"}
    typed |= {"left-sphere": "-3.25", "left-cylinder": "+0.50", "left-axis": "100"}
    for field, value in typed.items():
        page.locator(f"#id_{field}").fill(value)
    button = page.get_by_role("button", name="Write the left eye like the right")
    button.scroll_into_view_if_needed()
    with page.expect_response("**/live/"), held(page, "**/live/"):
        page.locator("#id_left-axis").fill("105")
        with page.expect_request("**/live/"):
            page.locator("#id_left-axis").blur()
        box = button.bounding_box()
        assert box is not None
        page.mouse.move(box["x"] + 5, box["y"] + 5)
        page.mouse.down()
    expect(page.locator(".htmx-request")).to_have_count(0)
    wired(page)
    page.mouse.up()
    expect(page.locator("#id_left-cylinder")).to_have_value("-0.50")
    expect(page.locator("#id_left-axis")).to_have_value("15")


@pytest.mark.browser
def test_the_focus_stays_on_a_button_that_an_answer_makes_anew(page: Page, patient: Patient) -> None:
    sign_in(page, "dora")
    page.goto(reverse("prescription-new", args=[patient.public_id]))
    page.locator("#id_right-sphere").fill("-3.25")
    page.locator("#id_right-cylinder").fill("-1.00")
    page.locator("#id_right-axis").fill("170")
    page.locator("#id_left-sphere").fill("-3.25")
    page.locator("#id_left-cylinder").fill("+0.50")
    page.locator("#id_left-axis").fill("100")
    page.locator("#turn-left").focus()
    with page.expect_response("**/live/"):
        page.locator("#id_left-axis").evaluate("field => field.dispatchEvent(new Event('change', {bubbles: true}))")
    expect(page.locator(".htmx-request")).to_have_count(0)
    wired(page)
    expect(page.locator("#turn-left")).to_be_focused()


def sent(patient: Patient, **fields: str) -> str:
    typed = {name.replace("__", "-"): value for name, value in fields.items()}
    return signed_in("dora").post(reverse("prescription-new", args=[patient.public_id]), typed).content.decode()


def test_a_line_sent_unread_is_read_and_shown_before_anything_is_taken_in(patient: Patient) -> None:
    page = sent(patient, line=LINE, tested_on="1.11.2026", use="distance", prescriber="T. Prescriber", vertex_mm="12")
    assert 'class="read-note"' in page
    assert 'name="left-axis" value="10"' in page
    assert 'name="tested_on" value="1.11.2026"' in page
    assert not patient.prescriptions.exists()


def test_a_line_that_cannot_be_read_stays_where_it_was_typed(patient: Patient) -> None:
    page = sent(patient, line="R 3.25 L -2.75", tested_on="1.11.2026")
    assert 'id="id_line_error"' in page
    assert "R 3.25 L -2.75</textarea>" in page


def test_a_line_stays_when_the_fields_are_refused(patient: Patient) -> None:
    page = sent(patient, line=LINE, right__sphere="2.50")
    assert f"{LINE}</textarea>" in page
    assert 'name="right-sphere" value="2.50"' in page
