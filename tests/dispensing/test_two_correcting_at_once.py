"""Two people correct the same record at once: the second is told who was first, sees both values, and loses nothing."""

from __future__ import annotations

from html import unescape
from typing import Any

import pytest
from django.forms import model_to_dict
from django.urls import reverse

from dispensing.models import AuditEvent, Fitting, Patient, Practice, StaffUser
from dispensing.services.staff import change_staff
from tests.builders import a_patient
from tests.dispensing.test_fitting_pages import record, usual
from tests.known import there
from tests.people import Answer, person, signed_in

pytestmark = pytest.mark.django_db


def words(answer: Answer) -> str:
    return " ".join(unescape(answer.content.decode()).split())


class Desk:
    """A page that somebody opened, and what it sends back: what was opened on, with the fields typed since."""

    def __init__(self, username: str, address: str) -> None:
        self.client, self.address = signed_in(username), address
        self.opened_on = self.client.get(address).context["version"]

    def save(self, typed: dict[str, Any]) -> Answer:
        answer = self.client.post(self.address, typed | {"version": self.opened_on})
        if answer.status_code == 200:
            self.opened_on = answer.context["version"]
        return answer


@pytest.fixture
def fitting() -> Fitting:
    record()
    return Fitting.objects.get()


def correcting(fitting: Fitting) -> tuple[Desk, Desk]:
    address = reverse("fitting-correct", args=[fitting.public_id])
    return Desk("ravi", address), Desk("ines", address)


def test_the_second_to_correct_a_fitting_is_told_by_whom_and_shown_both_figures(fitting: Fitting) -> None:
    first, second = correcting(fitting)
    assert first.save(usual(**{"height_mm-right": "22"})).status_code == 302
    told = second.save(usual(**{"height_mm-right": "23", "notes": "Slid down"}))
    assert told.status_code == 200
    said = words(told)
    assert "Ravi Castellan changed this fitting. height right is now 22.00 (rule, 1), here 23.00 (rule, 1)." in said
    assert 'value="23"' in said
    assert "Slid down" in said
    assert float(there(fitting.figure("height_mm", "right")).value) == 22.0


def test_a_figure_a_colleague_took_meanwhile_is_not_taken_off_unasked(fitting: Fitting) -> None:
    first, second = correcting(fitting)
    first.save(usual(**{"vertex_mm-right": "13"}))
    assert "vertex right is now 13.00 (rule, 1), here empty" in words(second.save(usual(notes="As worn")))
    assert fitting.figure("vertex_mm", "right") is not None


def test_who_was_told_saves_the_fitting_by_saving_again(fitting: Fitting) -> None:
    first, second = correcting(fitting)
    first.save(usual(**{"height_mm-right": "22"}))
    typed = usual(**{"height_mm-right": "23"})
    second.save(typed)
    assert second.save(typed).status_code == 302
    assert float(there(fitting.figure("height_mm", "right")).value) == 23.0
    assert AuditEvent.objects.filter(verb="fitting.change").count() == 2


def test_two_who_type_the_same_are_not_set_against_each_other(fitting: Fitting) -> None:
    first, second = correcting(fitting)
    typed = usual(**{"height_mm-right": "22"})
    assert first.save(typed).status_code == 302
    assert second.save(typed).status_code == 302
    assert AuditEvent.objects.filter(verb="fitting.change").count() == 1


@pytest.mark.parametrize("opened_on", ["", "none", "-1", "0", "7", "9" * 40, "²"])
def test_a_page_that_names_no_version_overwrites_no_figure(fitting: Fitting, opened_on: str) -> None:
    address = reverse("fitting-correct", args=[fitting.public_id])
    typed = usual(**{"height_mm-right": "22", "version": opened_on})
    assert "height right is now 21.00 (rule, 1), here 22.00" in words(signed_in("ines").post(address, typed))
    assert float(there(fitting.figure("height_mm", "right")).value) == 21.0


def patient_form(answer: Answer) -> dict[str, str]:
    """The form as a browser would send it back: its values, and what each field held when it was opened."""
    form = answer.context["form"]
    held = {name: form[name].value() for name in form.fields}
    typed = {name: "" if value in (None, False) else str(value) for name, value in held.items()}
    return typed | {f"initial-{name}": value for name, value in typed.items()}


def test_a_patients_phone_that_a_colleague_corrected_is_not_overwritten_unasked() -> None:
    patient = a_patient(phone="01632 960000")
    address = reverse("patient-correct", args=[patient.public_id])
    opened = signed_in("dora").get(address)
    first, second = Desk("dora", address), Desk("ravi", address)
    typed = patient_form(opened)
    assert first.save(typed | {"phone": "01632 960001"}).status_code == 302
    told = second.save(typed | {"phone": "01632 960002", "occupation": "Weaver"})
    assert "Dora Penhallow changed this patient. phone is now 01632 960001, here 01632 960002." in words(told)
    assert Patient.objects.get().phone == "01632 960001"
    assert second.save(typed | {"phone": "01632 960002", "occupation": "Weaver"}).status_code == 302
    assert Patient.objects.get().phone == "01632 960002"


def test_corrections_of_different_fields_of_a_patient_both_stay() -> None:
    patient = a_patient(phone="01632 960000")
    address = reverse("patient-correct", args=[patient.public_id])
    typed = patient_form(signed_in("dora").get(address))
    first, second = Desk("dora", address), Desk("ravi", address)
    first.save(typed | {"phone": "01632 960001"})
    assert second.save(typed | {"occupation": "Weaver"}).status_code == 302
    stored = Patient.objects.get()
    assert (stored.phone, stored.occupation) == ("01632 960001", "Weaver")


def test_what_was_corrected_of_another_patient_stands_in_nobodys_way() -> None:
    stranger, patient = a_patient(phone="01632 960100"), a_patient(phone="01632 960000", family_name="Okonkwo")
    address = reverse("patient-correct", args=[patient.public_id])
    typed = patient_form(signed_in("dora").get(address))
    first, second = Desk("dora", address), Desk("ravi", address)
    first.save(typed | {"occupation": "Weaver"})
    of_stranger = reverse("patient-correct", args=[stranger.public_id])
    shown = patient_form(signed_in("ines").get(of_stranger))
    Desk("ines", of_stranger).save(shown | {"phone": "01632 960101"})
    assert second.save(typed | {"phone": "01632 960001"}).status_code == 302
    stored = Patient.objects.get(pk=patient.pk)
    assert (stored.phone, stored.occupation, stored.version) == ("01632 960001", "Weaver", 3)
    assert Patient.objects.get(pk=stranger.pk).version == 2


def test_a_page_that_comes_back_with_a_fault_still_stands_on_what_was_opened() -> None:
    patient = a_patient(phone="01632 960000")
    address = reverse("patient-correct", args=[patient.public_id])
    typed = patient_form(signed_in("dora").get(address))
    first, second = Desk("dora", address), Desk("ravi", address)
    first.save(typed | {"phone": "01632 960001"})
    faulty = second.save(typed | {"phone": "01632 960002", "email": "nobody"})
    assert "Enter a valid email address." in words(faulty)
    assert second.opened_on == 1
    told = second.save(typed | {"phone": "01632 960002"})
    assert "phone is now 01632 960001, here 01632 960002" in words(told)
    assert Patient.objects.get().phone == "01632 960001"


def settings_form() -> dict[str, Any]:
    practice = Practice.current()
    settings = model_to_dict(practice, exclude=["id"]) | {"name": "Thistledown Opticians"}
    return {name: "" if value is None else value for name, value in settings.items()}


def test_of_two_managers_at_the_settings_the_second_is_told() -> None:
    address = reverse("practice-settings")
    Desk("ines", address).save(settings_form())
    first, second = Desk("ines", address), Desk(person("mo", role="manager", first_name="Mo").username, address)
    assert first.save(settings_form() | {"phone": "01632 960001"}).status_code == 302
    typed = settings_form() | {"phone": "01632 960002"}
    assert "Ines Holloway changed the settings. phone is now 01632 960001, here 01632 960002." in words(
        second.save(typed)
    )
    assert Practice.current().phone == "01632 960001"
    assert second.save(typed).status_code == 302
    assert (Practice.current().phone, Practice.current().version) == ("01632 960002", 4)


def test_a_manager_who_lets_somebody_go_is_not_overruled_by_a_page_that_was_open() -> None:
    member, other = person("ravi"), person("dora")
    address = reverse("staff-page", args=[member.username])
    shown = {"first_name": "Ravi", "last_name": "Castellan", "role": "dispenser", "is_active": "on"}
    first, second = Desk("ines", address), Desk(person("mo", role="manager", first_name="Mo").username, address)
    gone = {name: value for name, value in shown.items() if name != "is_active"}
    assert first.save(gone | {"registration": "D-10442"}).status_code == 302
    told = second.save(shown | {"registration": "D-10443"})
    assert "Ines Holloway changed this person's entry. may sign in is now False, here True." in words(told)
    stored = StaffUser.objects.get(pk=member.pk)
    assert (stored.is_active, stored.registration) == (False, "D-10442")
    assert StaffUser.objects.get(pk=other.pk).version == 1


def test_what_was_changed_of_a_colleague_stands_in_nobodys_way() -> None:
    member, other = person("ravi"), person("dora")
    address = reverse("staff-page", args=[member.username])
    shown = {"first_name": "Ravi", "last_name": "Castellan", "role": "dispenser", "is_active": "on"}
    first, second = Desk("ines", address), Desk(person("mo", role="manager", first_name="Mo").username, address)
    first.save(shown | {"registration": "D-1"})
    fields = {"last_name": "Penrose"}
    change_staff(actor=person("ines"), member=other, fields=fields)
    assert second.save(shown | {"registration": "D-1", "last_name": "Castellan-Wu"}).status_code == 302
    assert StaffUser.objects.get(pk=member.pk).last_name == "Castellan-Wu"
    assert StaffUser.objects.get(pk=other.pk).last_name == "Penrose"
