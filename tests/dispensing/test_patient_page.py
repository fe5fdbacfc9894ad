"""The patient's page: what everyone must know first, the latest prescription, and as few queries as possible."""

from __future__ import annotations

from datetime import date

import pytest
from pytest_django import DjangoAssertNumQueries

from dispensing.models import Patient, Practice
from tests.builders import a_patient, a_prescription
from tests.people import signed_in

pytestmark = pytest.mark.django_db


def page(patient: Patient, who: str = "dora") -> str:
    return signed_in(who).get(f"/patients/{patient.public_id}/").content.decode()


def test_the_latest_prescription_is_open_and_earlier_ones_are_folded() -> None:
    patient = a_patient()
    a_prescription(patient, tested_on=date(2024, 1, 5))
    a_prescription(patient, tested_on=date(2026, 1, 5))
    shown = page(patient)
    assert (
        shown.index("Tested 5 January 2026")
        < shown.index('<details class="fold"')
        < shown.index("Tested 5 January 2024")
    )


def test_a_power_is_shown_in_the_practice_s_cylinder_form_and_headings() -> None:
    patient = a_patient()
    a_prescription(patient)
    assert "−3.25" in page(patient)
    Practice.objects.update(cylinder_form="plus", eye_headings="od_os")
    shown = page(patient)
    assert "−4.25" in shown
    assert "+1.00" in shown
    assert ">80<" in shown
    assert "OD<" in shown


def test_an_eighth_is_turned_as_an_eighth() -> None:
    patient = a_patient()
    a_prescription(patient, right={"sphere": "-3.125", "cylinder": "-0.375", "axis": 90})
    Practice.objects.update(cylinder_form="plus")
    assert "−3.50" in page(patient)


def test_drivers_and_the_sight_impaired_are_marked() -> None:
    shown = page(a_patient(driver=True, sight_impaired=True))
    assert "Drives" in shown
    assert "Protected: sight-impaired" in shown


def test_an_expired_prescription_says_so() -> None:
    patient = a_patient()
    a_prescription(patient, tested_on=date(2020, 1, 5), expires_on=date(2022, 1, 5))
    assert "Expired" in page(patient)


def test_only_a_manager_is_led_to_the_audit_trail() -> None:
    patient = a_patient()
    assert "Who changed what" in page(patient, "ines")
    assert "Who changed what" not in page(patient, "ravi")


def test_ten_prescriptions_take_no_more_queries_than_one(django_assert_max_num_queries: DjangoAssertNumQueries) -> None:
    client = signed_in("ravi")
    patient = a_patient()
    for year in range(2015, 2025):
        a_prescription(patient, tested_on=date(year, 1, 5))
    client.get(f"/patients/{patient.public_id}/")  # The first look at a record is noted with more of them.
    with django_assert_max_num_queries(18):
        client.get(f"/patients/{patient.public_id}/")


def test_the_page_says_until_when_the_practices_rules_keep_the_record() -> None:
    patient = a_patient(last_seen_on=date(2026, 3, 4), born_on=date(1968, 4, 2))
    assert "4 Mar 2036" in page(patient)
    Practice.objects.update(keep_adult_years=7)
    assert "4 Mar 2033" in page(patient)


def test_the_title_which_the_browser_keeps_in_its_history_names_the_reference_and_nobody() -> None:
    patient = a_patient()
    title = page(patient).partition("<title>")[2].partition("</title>")[0]
    assert patient.reference in title
    assert patient.family_name not in title


def test_an_unknown_patient_is_not_found() -> None:
    answer = signed_in("dora").get("/patients/00000000-0000-4000-8000-000000000000/")
    assert answer.status_code == 404
