"""The first pages in a real browser: usable by keyboard alone and free of accessibility faults, at both widths."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from dispensing.models import Patient
from dispensing.services.patients import register_patient
from tests.accessibility import no_faults, no_faults_at_both_widths
from tests.browser import sign_in, sign_in_by_hand
from tests.builders import a_prescription
from tests.known import there
from tests.people import person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def patient() -> Patient:
    from datetime import date

    patient = register_patient(
        actor=person("ravi"), family_name="Penhallow", given_names="Margery", born_on=date(1968, 4, 2), driver=True
    )
    a_prescription(patient, tested_on=date(2024, 10, 30), expires_on=date(2025, 1, 1))
    a_prescription(patient, tested_on=date(2025, 10, 30))
    return patient


def addresses(patient: Patient) -> list[str]:
    prescription = there(patient.prescriptions.first())
    return [
        reverse("home"),
        reverse("password-change"),
        reverse("patient-list"),
        reverse("patient-register"),
        reverse("patient-page", args=[patient.public_id]),
        reverse("patient-correct", args=[patient.public_id]),
        reverse("prescription-new", args=[patient.public_id]),
        reverse("prescription-page", args=[prescription.public_id]),
        reverse("prescription-correct", args=[prescription.public_id]),
        "/no-such-page/",
    ]


def test_no_page_has_a_fault_of_accessibility_on_a_desk_or_a_telephone(page: Page, patient: Patient) -> None:
    page.goto("/sign-in/")
    no_faults_at_both_widths(page)
    sign_in(page)
    for address in addresses(patient):
        page.goto(address)
        no_faults_at_both_widths(page)


def test_a_page_with_faults_of_accessibility_or_wider_than_a_telephone_is_found_out(page: Page) -> None:
    page.set_content("<html lang=en><title>t</title><main><h1>h</h1><img src=data:,></main>")
    with pytest.raises(AssertionError, match="image-alt"):
        no_faults(page)
    page.set_content("<html lang=en><title>t</title><main><h1>h</h1><p style='width: 391px; margin: 0'>p</main>")
    no_faults(page)
    with pytest.raises(AssertionError, match="px wider than the screen"):
        no_faults_at_both_widths(page)


def test_a_refused_form_has_no_fault_of_accessibility_and_leads_to_its_fields(page: Page) -> None:
    sign_in(page)
    page.goto(reverse("patient-register"))
    page.keyboard.type("Penrose")
    page.keyboard.press("Control+Enter")
    summary = page.locator("[data-error-summary]")
    expect(summary).to_be_focused()
    no_faults(page)
    summary.get_by_role("link", name="Date of birth").press("Enter")
    expect(page.locator("#id_born_on")).to_be_focused()
    expect(page.locator("#id_family_name")).to_have_value("Penrose")


def test_the_slash_goes_to_the_patient_finder_and_enter_opens_the_only_match(page: Page, patient: Patient) -> None:
    sign_in(page)
    page.goto(reverse("patient-register"))
    page.locator("h1").click()
    page.keyboard.press("/")
    page.keyboard.type("penhal")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("Margery Penhallow")


def test_patients_appear_while_their_name_is_typed(page: Page, patient: Patient) -> None:
    sign_in(page)
    page.goto(reverse("home"))
    page.locator("#find").press_sequentially("PENH 1968", delay=20)
    expect(page.locator("#found")).to_contain_text("Penhallow, Margery")
    assert page.url.endswith(reverse("home"))


def test_the_keys_are_listed_at_a_question_mark(page: Page) -> None:
    sign_in(page)
    page.goto(reverse("home"))
    page.locator("h1").click()
    page.keyboard.press("?")
    expect(page.get_by_role("dialog", name="Keys")).to_be_visible()
    no_faults(page)
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog", name="Keys")).to_be_hidden()


def test_a_prescription_is_taken_in_without_a_mouse(page: Page, patient: Patient) -> None:
    sign_in(page, "dora")
    page.goto(reverse("prescription-new", args=[patient.public_id]))
    expect(page.locator("#id_line")).to_be_focused()
    page.keyboard.type("R -3.25/-1.00x175 L -2.75 add 2.00")
    page.keyboard.press("Enter")
    expect(page.locator("#id_tested_on")).to_be_focused()
    expect(page.locator("#live")).to_contain_text("−4.25 / +1.00 x 85")
    expect(page.locator("#live")).to_contain_text("axis 170 → 175")
    page.keyboard.type("1.10.2026")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.type("Distance and near")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.type("T. Prescriber")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_text("The prescription is recorded.")).to_be_visible()
    assert there(there(patient.prescriptions.first()).right).axis == 175


def test_arrows_go_to_the_same_field_of_the_other_eye(page: Page, patient: Patient) -> None:
    sign_in(page, "dora")
    page.goto(reverse("prescription-new", args=[patient.public_id]))
    page.locator("#id_right-axis").focus()
    page.keyboard.press("ArrowDown")
    expect(page.locator("#id_left-axis")).to_be_focused()
    page.keyboard.press("ArrowUp")
    expect(page.locator("#id_right-axis")).to_be_focused()


def test_a_refused_prescription_keeps_what_was_typed_and_has_no_fault_of_accessibility(
    page: Page, patient: Patient
) -> None:
    sign_in(page, "dora")
    page.goto(reverse("prescription-new", args=[patient.public_id]))
    page.locator("#id_right-sphere").fill("2.50")
    page.locator("#id_left-sphere").fill("-2.62")
    page.keyboard.press("Control+Enter")
    expect(page.locator("#id_right-sphere_error")).to_contain_text("sign is missing")
    expect(page.locator("#id_right-sphere")).to_have_value("2.50")
    no_faults(page)


def test_the_other_cylinder_form_is_one_press_away(page: Page, patient: Patient) -> None:
    sign_in(page, "dora")
    page.goto(reverse("prescription-new", args=[patient.public_id]))
    typed = {"right-sphere": "-3.25", "right-cylinder": "-1.00", "right-axis": "170"}
    typed |= {"left-sphere": "-3.25", "left-cylinder": "+0.50", "left-axis": "100"}
    for field, value in typed.items():
        page.locator(f"#id_{field}").fill(value)
    # Without leaving the last field first: that would ask a second time and put another button in place of this one.
    page.get_by_role("button", name="Write the left eye like the right").press("Enter")
    expect(page.locator("#id_left-cylinder")).to_have_value("-0.50")
    expect(page.locator("#id_left-axis")).to_have_value("10")


def test_a_session_that_ended_while_typing_loses_nothing_and_saving_works_after_signing_in_again(
    page: Page, patient: Patient
) -> None:
    sign_in(page, "dora")
    page.goto(reverse("prescription-new", args=[patient.public_id]))
    page.context.clear_cookies(name="sessionid")
    page.locator("#id_right-sphere").fill("-3.25")
    page.locator("#id_left-sphere").fill("-3.00")
    page.keyboard.press("Tab")
    expect(page.get_by_role("alert")).to_contain_text("no longer signed in")
    second = page.context.new_page()
    sign_in_by_hand(second, "dora")
    page.bring_to_front()
    page.get_by_role("button", name="Go on here").click()
    expect(page.locator("#signed-out")).to_be_hidden()  # Until then nothing below it can be typed into.
    expect(page.locator("#id_right-sphere")).to_have_value("-3.25")
    page.locator("#id_tested_on").fill("1.10.2026")
    page.locator("#id_use").select_option("distance")
    page.locator("#id_prescriber").fill("T. Prescriber")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_text("The prescription is recorded.")).to_be_visible()
