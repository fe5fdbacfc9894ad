"""Registering and correcting a patient, and noticing who is already there."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.dates import written_date
from dispensing.models import AuditEvent, Patient
from dispensing.services.patients import register_patient
from tests.people import Answer, person, signed_in

pytestmark = pytest.mark.django_db

USUAL = {"family_name": "Penhallow", "given_names": "Margery", "born_on": "2.4.1968", "may_be_contacted": "yes"}
CONSENTS = ("may_be_contacted", "notices_by_email", "notices_by_text")


def register(**changes: Any) -> Answer:
    return signed_in("dora").post("/patients/new/", USUAL | changes)


def page(**changes: Any) -> str:
    answer = register(**changes)
    assert answer.status_code == 200, "It was saved."
    return answer.content.decode()


def test_a_patient_is_registered_with_the_next_reference_and_on_the_record() -> None:
    assert register().status_code == 302
    assert register(born_on="3.4.1971", given_names="Ada").status_code == 302
    assert list(Patient.objects.order_by("pk").values_list("reference", flat=True)) == ["P-00001", "P-00002"]
    event = AuditEvent.objects.filter(verb="patient.register").latest("pk")
    assert (event.actor, event.patient) == (person("dora"), Patient.objects.latest("pk"))


def test_the_registration_day_counts_as_seen() -> None:
    register()
    assert Patient.objects.get().last_seen_on == timezone.localdate()


def test_nobody_agrees_before_being_asked() -> None:
    html = signed_in("dora").get("/patients/new/").content.decode()
    agreed = [re.search(rf"<(select|input)[^>]*name=.{name}.(.*?)>", html, re.DOTALL) for name in CONSENTS]
    assert not [found for found in agreed if found is None or "checked" in found[2]]
    assert re.search(r'name="may_be_contacted".*?<option value="" selected>Not asked</option>', html, re.DOTALL)
    for born, answer, kept in ((1, "", None), (2, "yes", True), (3, "no", False)):
        register(born_on=f"{born}.4.1971", may_be_contacted=answer, given_names=("Ada", "Olwen", "Tess")[born - 1])
        assert Patient.objects.latest("pk").may_be_contacted is kept
    assert list(Patient.objects.values_list("notices_by_email", "notices_by_text")) == [(False, False)] * 3


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("born_on", "2.4.68", "four figures"),
        ("born_on", "31.2.1968", "no day 31"),
        ("born_on", "2.4.1890", "years of age"),
        ("born_on", "", "Write the date of birth"),
        ("family_name", "x" * 300, "300 characters; at most 200 fit"),
        ("family_name", "", "Write the family name"),
        ("phone", "12", "at least 5 digits"),
        ("email", "nobody", "valid email"),
    ],
)
def test_bad_input_is_told_beside_the_field_and_nothing_typed_is_lost(field: str, typed: str, says: str) -> None:
    shown = page(**{field: typed, "notes": "likes round frames"})
    assert says in shown
    assert 'aria-invalid="true"' in shown
    assert f'id="id_{field}_error"' in shown
    assert "likes round frames" in shown
    assert typed in shown
    assert not Patient.objects.exists()


def test_a_birth_date_still_to_come_is_refused() -> None:
    tomorrow = timezone.localdate() + timedelta(days=1)
    assert "in the future" in page(born_on=tomorrow.isoformat())


def test_a_child_needs_a_guardian_and_is_shown_as_protected() -> None:
    born = timezone.localdate() - timedelta(days=365 * 9)
    assert "Write who is responsible" in page(born_on=born.isoformat())
    answer = register(born_on=born.isoformat(), guardian="Ida Penhallow, 020 7946 0000")
    shown = signed_in("dora").get(answer["Location"]).content.decode()
    assert "Protected: child of" in shown


def test_names_are_stored_composed_and_without_invisible_marks() -> None:
    register(family_name="\u202ePe\u0301rez\u202c", given_names="  Zoe\u0308   Ann ")
    patient = Patient.objects.get()
    assert (patient.family_name, patient.given_names) == ("Pérez", "Zoë Ann")


def test_a_name_from_right_to_left_is_kept_and_shown_in_its_own_direction() -> None:
    answer = register(family_name="כהן", given_names="נועה")
    assert "<bdi>נועה כהן</bdi>" in signed_in("dora").get(answer["Location"]).content.decode()


@pytest.mark.parametrize(
    "again",
    [
        {},
        {"family_name": "Penhalow"},
        {"family_name": "Margery", "given_names": "Penhallow"},
        {"given_names": "Margery Ida"},
        {"born_on": "9.9.1999", "given_names": "Ida", "phone": "+44 20 7946 0123"},
        {"born_on": "4.2.1968"},
        {"born_on": "9.9.1999", "family_name": "MARGERY", "given_names": "Penhällow"},
    ],
    ids=[
        "same again",
        "misspelt",
        "names exchanged",
        "second given name",
        "same phone, same family",
        "day and month exchanged",
        "same name, another day",
    ],
)
def test_who_seems_registered_already_is_shown_before_a_second_record_is_made(again: dict[str, Any]) -> None:
    register(phone="020 7946 0123")
    shown = page(**again)
    assert "Already registered?" in shown
    assert "P-00001" in shown
    assert Patient.objects.count() == 1


def test_of_many_namesakes_those_are_shown_whose_birth_dates_are_easily_mistaken() -> None:
    days = ["14.4.1999", "4.2.1968", "2.4.1986", "2.4.1969", "30.11.2001", "12.4.1968", "25.12.1950", "3.4.1968"]
    for number, day in enumerate(days):
        others = [f"P-{other + 1:05}" for other in range(number)]
        names = {"family_name": "Penhallow", "given_names": "Margery"}
        register_patient(actor=None, although_similar_to=others, born_on=written_date(day), **names)
    register(given_names="Ada", born_on="5.4.1968")
    shown = page()
    assert re.findall(r"P-\d{5}", shown) == ["P-00002", "P-00003", "P-00004", "P-00006", "P-00008"]
    assert shown.count(", another day") == 5


def test_another_person_of_the_same_birthday_is_registered_without_a_question() -> None:
    register()
    assert register(family_name="Castellan", given_names="Ravi").status_code == 302


def test_a_tick_that_it_is_another_person_registers_and_is_recorded() -> None:
    register()
    first = Patient.objects.get()
    assert register(another_person=str(first.public_id)).status_code == 302
    event = AuditEvent.objects.filter(verb="patient.register").latest("pk")
    assert event.changes == {"not_the_same_as": [first.reference]}


def test_a_tick_beside_one_does_not_cover_another() -> None:
    register()
    first = Patient.objects.get()
    register(another_person=str(first.public_id))
    assert "Already registered?" in page(another_person=str(first.public_id))


def test_a_correction_changes_only_what_differs_and_records_old_and_new() -> None:
    register()
    patient = Patient.objects.get()
    answer = signed_in("dora").post(f"/patients/{patient.public_id}/correct/", USUAL | {"family_name": "Penrose"})
    assert answer.status_code == 302
    event = AuditEvent.objects.get(verb="patient.correct")
    assert event.changes == {"family_name": ["Penhallow", "Penrose"]}
    patient.refresh_from_db()
    assert "penrose" in patient.search_text


def test_saving_without_a_change_records_nothing() -> None:
    register()
    patient = Patient.objects.get()
    signed_in("dora").post(f"/patients/{patient.public_id}/correct/", USUAL)
    assert not AuditEvent.objects.filter(verb="patient.correct").exists()


def test_a_refused_correction_does_not_rename_the_patient_on_the_page() -> None:
    register()
    patient = Patient.objects.get()
    answer = signed_in("dora").post(
        f"/patients/{patient.public_id}/correct/", USUAL | {"family_name": "Penrose", "born_on": "never"}
    )
    assert "Correct <bdi>Margery Penhallow</bdi>" in answer.content.decode()


def opened_for_correction(patient: Patient) -> dict[str, str]:
    """All that a browser sends back of the opened form, what was there at the time included."""
    form = signed_in("dora").get(f"/patients/{patient.public_id}/correct/").context["form"]
    sent = {}
    for field in form:
        value = field.value()
        sent[field.html_name] = "" if value in (None, False) else str(value)
        sent[field.html_initial_name] = "" if value is None else str(value)
    return {name: value for name, value in sent.items() if value or name.startswith("initial-")}


def test_two_colleagues_correcting_different_fields_both_keep_their_correction() -> None:
    register()
    patient = Patient.objects.get()
    address = f"/patients/{patient.public_id}/correct/"
    dora_s, ravi_s = opened_for_correction(patient), opened_for_correction(patient)
    assert signed_in("dora").post(address, dora_s | {"phone": "020 7946 0001"}).status_code == 302
    assert signed_in("ravi").post(address, ravi_s | {"occupation": "Potter"}).status_code == 302
    patient.refresh_from_db()
    assert (patient.phone, patient.occupation) == ("020 7946 0001", "Potter")


def test_consent_to_notices_is_never_ticked_beforehand_and_can_be_taken_back() -> None:
    page = signed_in("dora").get(reverse("patient-register")).content.decode()
    for name in ("notices_by_email", "notices_by_text"):
        box = page[page.index(f'name="{name}"') :].split(">")[0]
        assert "checked" not in box
    agreed = {"notices_by_email": "on", "notices_by_text": "on", "email": "m@p.invalid", "phone": "07400 123456"}
    signed_in("dora").post(reverse("patient-register"), {**USUAL, **agreed})
    patient = Patient.objects.get()
    assert (patient.notices_by_email, patient.notices_by_text) == (True, True)
    address = reverse("patient-correct", args=[patient.public_id])
    form = signed_in("dora").get(address).context["form"]
    kept = {
        **USUAL,
        **agreed,
        "version": patient.version,
        "initial-notices_by_text": "on",
        "initial-notices_by_email": "on",
    }
    del kept["notices_by_text"]
    signed_in("dora").post(address, kept)
    patient.refresh_from_db()
    assert (patient.notices_by_email, patient.notices_by_text) == (True, False)
    assert form["notices_by_text"].value() is True


@pytest.mark.either_database
@pytest.mark.parametrize(
    ("fields", "field", "says"),
    [
        ({"notices_by_email": "on"}, "email", "Write the e-mail address by which the patient agrees to be told."),
        ({"notices_by_text": "on"}, "phone", "There is no phone number on record."),
        ({"notices_by_text": "on", "phone": "020 7946 0018"}, "phone", "takes no text messages"),
        ({"notices_by_text": "on", "phone": "123456"}, "phone", "is not a phone number that is in use (GB)"),
    ],
)
def test_who_agrees_to_a_way_can_be_reached_by_it(fields: dict[str, str], field: str, says: str) -> None:
    answer = signed_in("dora").post(reverse("patient-register"), {**USUAL, **fields})
    assert list(answer.context["form"].errors) == [field]
    assert says in str(answer.context["form"].errors[field])
    assert not Patient.objects.exists()
