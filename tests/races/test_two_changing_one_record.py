"""Two people, or two programs, change one record at the same moment: one of them is told, and nothing is lost."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.urls import reverse

from dispensing.models import AuditEvent, Patient
from dispensing.services.frames import change_frame
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.services.patients import SeemsRegistered, correct_patient, register_patient
from dispensing.services.practice import change_practice
from dispensing.services.prescriptions import correct_prescription
from dispensing.services.staff import change_staff
from orders.services.labs import change_lab
from tests.builders import a_frame, a_patient, a_prescription
from tests.dispensing.api.callers import based_on, caller
from tests.orders import shop
from tests.people import person
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)


def test_correcting_what_was_read_loses_one_of_two_corrections() -> None:
    patient = a_patient(phone="0")

    def careless(barrier: threading.Barrier, which: int) -> Any:
        mine = Patient.objects.get(pk=patient.pk)
        barrier.wait()
        mine.phone = f"01632 96000{which}"
        mine.save(update_fields=["phone"])
        return "saved"

    assert at_once(careless) == ["saved", "saved"]


def _axis(which: int) -> dict[str, Any]:
    eye = {"sphere": -3.25, "cylinder": -1, "axis": 170 + which, "acuity": ""}
    return {"right": eye | {"prism_horizontal_base": "", "prism_vertical_base": ""}}


SERVICES: dict[str, tuple[Callable[[], Any], Callable[[Any, int], Any]]] = {
    "patient": (
        a_patient,
        lambda row, which: correct_patient(actor=person("ravi"), patient=row, version=1, phone=f"01632 96000{which}"),
    ),
    "prescription": (
        lambda: a_prescription(a_patient()),
        lambda row, which: correct_prescription(
            actor=person("ravi"), prescription=row, version=1, facts={}, eyes=_axis(which + 1)
        ),
    ),
    "frame": (
        a_frame,
        lambda row, which: change_frame(
            actor=person("ravi"), frame=row, version=1, fields={"colour": f"Moss {which}"}, shape=None, keep_shape=True
        ),
    ),
    "lab": (
        shop.lab,
        lambda row, which: change_lab(lab=row, actor=person("ravi"), version=1, phone=f"01632 96000{which}"),
    ),
    "practice": (
        shop.practice,
        lambda row, which: change_practice(actor=person("ravi"), version=1, fields={"phone": f"01632 96000{which}"}),
    ),
    "staff": (
        lambda: person("dora"),
        lambda row, which: change_staff(
            actor=person("ravi"), member=row, version=1, fields={"registration": f"D-{which}"}
        ),
    ),
}


@pytest.mark.parametrize("noun", SERVICES)
def test_of_two_who_change_a_record_one_is_told_and_the_version_counts_once(noun: str) -> None:
    make, change = SERVICES[noun]
    person("ravi")
    record = make()

    def act(barrier: threading.Barrier, which: int) -> Any:
        barrier.wait()
        return change(record, which)

    results = at_once(act)
    (refused,) = [result for result in results if isinstance(result, ChangedMeanwhile)]
    (saved,) = [result for result in results if isinstance(result, type(record))]
    stored = type(record)._default_manager.get(pk=record.pk)
    assert (stored.version, saved.version, refused.version) == (2, 2, 2)
    assert refused.by == person("ravi")
    (name,) = refused.fields
    assert refused.both == refused.fields
    assert AuditEvent.objects.filter(version=2).count() == 1
    assert AuditEvent.objects.get(version=2).changes[name][1] == str(refused.fields[name][0])


@pytest.mark.parametrize("noun", ["patient", "order"])
def test_of_two_programs_at_one_record_one_gets_412(noun: str) -> None:
    record = a_patient() if noun == "patient" else shop.draft()
    field = "occupation" if noun == "patient" else "remarks"
    address, clients = reverse(f"api-{noun}-detail", args=[record.public_id]), (caller("ravi"), caller("ines"))

    def patch(barrier: threading.Barrier, which: int) -> Any:
        barrier.wait()
        return clients[which].patch(address, {field: f"Program {which}"}, headers=based_on(1))

    results: list[Any] = at_once(patch)
    answers = sorted(results, key=lambda answer: answer.status_code)
    assert [answer.status_code for answer in answers] == [200, 412]
    stored = type(record)._default_manager.get(pk=record.pk)
    assert stored.version == 2
    (row,) = answers[1].json()["differences"]
    assert (row["now"], {row["now"], row["yours"]}) == (getattr(stored, field), {"Program 0", "Program 1"})


def test_one_person_registered_twice_at_once_is_noticed() -> None:
    person("dora")
    shop.practice()  # Whoever registers holds this row, which every installation has.
    born = a_patient(family_name="Bystander").born_on

    def register(barrier: threading.Barrier, which: int) -> Any:
        barrier.wait()
        return register_patient(actor=person("dora"), family_name="Oakes", given_names="Ida", born_on=born)

    results = at_once(register)
    (refused,) = [result for result in results if isinstance(result, SeemsRegistered)]
    (registered,) = [result for result in results if isinstance(result, Patient)]
    assert refused.similar == [registered]
    assert Patient.objects.count() == 2
