"""Versions over the API: every record gives its own as ETag, and what could overwrite it must name the one read."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.models import AuditEvent, Patient
from dispensing.services.fittings import FigureTaken, record_fitting
from dispensing.services.frames import change_frame
from dispensing.services.patients import correct_patient
from dispensing.services.prescriptions import correct_prescription
from orders.services.drafts import save_draft
from orders.services.sending import send_order
from tests.builders import a_frame, a_patient, a_prescription
from tests.dispensing.api.callers import based_on, caller, faults
from tests.known import there
from tests.orders import shop
from tests.people import person
from tests.roads.stored import all_stored

pytestmark = pytest.mark.django_db


def _eyes(axis: int) -> dict[str, Any]:
    return {"right": {"sphere": -3.25, "cylinder": -1, "axis": axis}, "left": {"sphere": -2.75}}


def _whole_prescription(record: Any) -> dict[str, Any]:
    facts = {"tested_on": "2026-10-30", "use": "distance", "prescriber": "T. Prescriber", "source": "own test"}
    return {"patient": str(record.patient.public_id), **facts, **_eyes(165)}


@dataclass(frozen=True)
class Noun:
    """One record with another beside it. ``theirs``: a colleague's change of the field that ``body`` changes too."""

    name: str
    method: str
    make: Callable[[], Any]
    theirs: Callable[[Any], object]
    body: Callable[[Any], dict[str, Any]]
    difference: dict[str, Any]

    def address(self, record: Any) -> str:
        return reverse(f"api-{self.name}-detail", args=[record.public_id])

    def change(self, record: Any, **kwargs: Any) -> Any:
        return getattr(caller(), self.method)(self.address(record), self.body(record), **kwargs)

    def __str__(self) -> str:
        return self.name


NOUNS = [
    Noun(
        "patient",
        "patch",
        lambda: a_patient(phone="01632 960000"),
        lambda row: correct_patient(actor=person("ines"), patient=row, phone="01632 960001"),
        lambda row: {"phone": "01632 960002"},
        {"field": "phone", "now": "01632 960001", "yours": "01632 960002"},
    ),
    Noun(
        "prescription",
        "put",
        lambda: a_prescription(a_patient()),
        lambda row: correct_prescription(actor=person("ines"), prescription=row, facts={}, eyes=_eyes(175)),
        _whole_prescription,
        {"field": "right.axis", "now": 175, "yours": 165},
    ),
    Noun(
        "frame",
        "patch",
        a_frame,
        lambda row: change_frame(actor=person("ines"), frame=row, fields={"b_mm": 39}, shape=None),
        lambda row: {"b_mm": 40},
        {"field": "b_mm", "now": 39.0, "yours": 40.0},
    ),
    Noun(
        "order",
        "patch",
        shop.draft,
        lambda row: save_draft(order=row, actor=person("ines"), version=1, fields={"remarks": "Hers"}),
        lambda row: {"remarks": "Mine"},
        {"field": "remarks", "now": "Hers", "yours": "Mine"},
    ),
]
every_noun = pytest.mark.parametrize("noun", NOUNS, ids=str)


def fresh(record: Any) -> Any:
    return type(record)._default_manager.get(pk=record.pk)


@every_noun
def test_a_record_gives_its_version_as_a_strong_etag_alone_and_in_a_list(noun: Noun) -> None:
    record = noun.make()
    alone = caller().get(noun.address(record))
    assert (alone.headers["ETag"], alone.json()["version"]) == ('"1"', 1)
    assert alone.headers["Cache-Control"] == "private, no-cache"
    listed = caller().get(reverse(f"api-{noun.name}-list"))
    row = next(row for row in listed.json()["results"] if row["public_id"] == str(record.public_id))
    assert row["version"] == 1
    assert "ETag" not in listed.headers


@every_noun
def test_a_change_based_on_the_version_as_it_stands_makes_the_next(noun: Noun) -> None:
    bystander, record = noun.make(), noun.make()
    answer = noun.change(record, headers={"If-Match": '"7", "1"'})
    assert (answer.status_code, answer.json()["version"], fresh(record).version) == (200, 2, 2)
    # What is stored after a PUT is seldom the body to the letter, and then it has no ETag (RFC 9110, 9.3.4).
    assert answer.headers.get("ETag") == (None if noun.method == "put" else '"2"')
    assert caller().get(noun.address(record)).headers["ETag"] == '"2"'
    assert fresh(bystander).version == 1


@every_noun
@pytest.mark.parametrize("headers", [{}, {"If-Match": "*"}, {"If-Match": "1"}, {"If-Match": ""}], ids=str)
def test_a_change_that_names_no_version_could_overwrite_and_is_refused(noun: Noun, headers: dict[str, str]) -> None:
    record = noun.make()
    before = all_stored()
    answer = noun.change(record, headers=headers)
    assert faults(answer, 428) == {}
    assert "send the record's ETag as If-Match" in answer.json()["detail"]
    assert (all_stored(), fresh(record).version) == (before, 1)


@every_noun
@pytest.mark.parametrize("named", ['"1"', 'W/"2"', '"0"', '"3"', '"two"', f'"{"9" * 40}"'])
def test_a_change_based_on_another_version_is_refused_with_both_values_by_whom_and_when(noun: Noun, named: str) -> None:
    record = noun.make()
    noun.theirs(fresh(record))
    before = all_stored()
    answer = noun.change(record, headers={"If-Match": named})
    assert faults(answer, 412) == {}
    told = answer.json()
    assert (told["title"], told["version"], told["changed_by"]) == ("Precondition Failed", 2, "Ines Holloway")
    assert told["detail"].startswith(f"Ines Holloway changed this {noun.name} in the meantime. Nothing was done;")
    assert told["changed_at"][:10] == timezone.now().date().isoformat()
    assert told["differences"] == [noun.difference]
    assert answer.headers["ETag"] == '"2"'
    assert (all_stored(), fresh(record).version) == (before, 2)
    assert noun.change(record, headers={"If-Match": answer.headers["ETag"]}).status_code == 200


@every_noun
def test_a_change_of_nothing_makes_no_version(noun: Noun) -> None:
    if noun.name == "order":  # Every save of a draft is one: the day that it is judged on moves on.
        return
    record = noun.make()
    assert noun.change(record, headers=based_on(1)).json()["version"] == 2
    assert noun.change(record, headers=based_on(2)).json()["version"] == 2


@every_noun
def test_a_record_that_is_not_there_is_not_found_whatever_is_named(noun: Noun) -> None:
    noun.make()
    record = noun.make()
    record.public_id = uuid.uuid4()
    assert noun.change(record).status_code == 404


@pytest.mark.parametrize("noun", [noun for noun in NOUNS if noun.name in ("prescription", "frame")], ids=str)
def test_who_keeps_the_answer_is_told_that_it_is_still_right(noun: Noun) -> None:
    record = noun.make()
    client, address = caller(), noun.address(record)
    for named in ('"1"', 'W/"1"', '"7", "1"', "*"):
        kept = client.get(address, headers={"If-None-Match": named})
        assert (kept.status_code, kept.content, kept.headers["ETag"]) == (304, b"", '"1"')
    for named in ('"2"', "1", ""):
        assert client.get(address, headers={"If-None-Match": named}).status_code == 200
    noun.theirs(fresh(record))
    now = client.get(address, headers={"If-None-Match": '"1"'})
    assert (now.status_code, now.headers["ETag"]) == (200, '"2"')


@pytest.mark.parametrize("noun", [noun for noun in NOUNS if noun.name in ("patient", "order")], ids=str)
def test_an_answer_that_shows_more_than_the_record_is_given_anew(noun: Noun) -> None:
    """When the patient was last seen; how the order is judged today."""
    record = noun.make()
    assert caller().get(noun.address(record), headers={"If-None-Match": '"1"'}).status_code == 200


@pytest.mark.parametrize("file", ["document", "pdf"])
def test_the_files_of_a_sent_order_are_named_by_their_hash_and_not_sent_twice(file: str) -> None:
    order = shop.draft()
    stored = send_order(order=order, actor=shop.dispenser(), version=1)
    sha256 = stored.sha256 if file == "document" else stored.pdf_sha256
    client, address = caller(), reverse(f"api-order-{file}", args=[order.public_id])
    first = client.get(address)
    assert (first.status_code, first.headers["ETag"]) == (200, f'"{sha256}"')
    kept = client.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert (kept.status_code, kept.content, kept.headers["ETag"]) == (304, b"", f'"{sha256}"')
    assert client.get(address, headers={"If-None-Match": '"1"'}).status_code == 200


def test_a_fitting_gives_its_version() -> None:
    figures = [FigureTaken("pd_mm", "right", (31.5,))]
    patient, frame, day = a_patient(), a_frame(), timezone.localdate()
    stored = record_fitting(actor=person("ravi"), patient=patient, frame=frame, measured_on=day, figures=figures)
    answer = caller().get(reverse("api-fitting-detail", args=[stored.public_id]))
    assert (answer.headers["ETag"], answer.json()["version"]) == ('"1"', 1)


def test_a_new_record_says_where_it_is_and_at_which_version() -> None:
    body = {"family_name": "Penhallow", "given_names": "Margery", "born_on": "1968-04-02"}
    made = caller().post(reverse("api-patient-list"), body)
    assert made.headers["ETag"] == '"1"'
    address = reverse("api-patient-detail", args=[Patient.objects.get().public_id])
    assert made.headers["Location"] == f"http://testserver{address}"


def test_a_patient_who_was_only_seen_again_can_be_changed_on_the_same_version() -> None:
    patient = a_patient(phone="01632 960000")
    a_prescription(patient)
    Patient.objects.filter(pk=patient.pk).update(last_seen_on=timezone.localdate())
    address = reverse("api-patient-detail", args=[patient.public_id])
    assert caller().patch(address, {"phone": "01632 960002"}, headers=based_on(1)).status_code == 200


def test_a_patch_writes_the_fields_it_names_and_no_others() -> None:
    patient = a_patient(phone="01632 960000", occupation="Weaver", driver=True)
    address = reverse("api-patient-detail", args=[patient.public_id])
    assert caller().patch(address, {"phone": None, "driver": False}, headers=based_on(1)).status_code == 200
    event = AuditEvent.objects.get(verb="patient.correct")
    assert event.changes == {"phone": ["01632 960000", ""], "driver": ["True", "False"]}
    assert event.version == 2
    stored = fresh(patient)
    assert (stored.phone, stored.driver, stored.occupation) == ("", False, "Weaver")


ACTIONS = [("settle", {"rule": "blank-size", "eye": "right", "reason": "The lab has 80 mm"}), ("send", {})]


@pytest.mark.parametrize(("action", "body"), ACTIONS, ids=["settle", "send"])
@pytest.mark.parametrize(("headers", "status"), [({}, 428), (based_on(1), 412)])
def test_what_is_settled_and_sent_is_the_order_that_was_read(
    action: str, body: dict[str, Any], headers: dict[str, str], status: int
) -> None:
    order = shop.draft()
    save_draft(order=fresh(order), actor=person("ines"), version=1, fields={"remarks": "Hers"})
    before = all_stored()
    answer = caller().post(reverse(f"api-order-{action}", args=[order.public_id]), body, headers=headers)
    if (action, status) == ("settle", 412):
        # There is nothing to settle, at whatever version: that is told first (RFC 9110, 13.2.1).
        status = 409
    assert faults(answer, status) == {}
    assert (all_stored(), fresh(order).version) == (before, 2)


def test_an_order_that_was_changed_is_not_settled_and_the_lenses_that_differ_are_told_key_by_key() -> None:
    patient, frame = shop.patient(), shop.frame(a_mm=62, b_mm=48, dbl_mm=22, ed_mm=66)
    order = shop.draft(frame=frame, fitting=shop.fitting(patient, frame, height_mm_right=25, height_mm_left=25))
    lenses = {"right": {**shop.LENS, "blank_mm": 70.0}, "left": None}
    save_draft(order=fresh(order), actor=person("ines"), version=1, fields={"lenses": lenses})
    said = {"rule": "blank-size", "eye": "right", "reason": "The lab has 80 mm"}
    settled = caller().post(reverse("api-order-settle", args=[order.public_id]), said, headers=based_on(1))
    entry = {"rule": "blank-size", "eye": "right", "reason": "The lab has 80 mm", "by": "Ravi Castellan"}
    assert faults(settled, 412) == {}
    assert settled.json()["differences"] == [{"field": "lifted", "now": [], "yours": [entry]}]
    address = reverse("api-order-detail", args=[order.public_id])
    other = shop.prescription(patient)
    asked = {"lenses": {"right": shop.LENS, "left": shop.LENS}, "prescription": str(other.public_id)}
    told = caller().patch(address, asked, headers=based_on(1)).json()["differences"]
    assert told == [
        {"field": "prescription", "now": str(there(order.prescription).public_id), "yours": str(other.public_id)},
        {"field": "lenses.left", "now": None, "yours": shop.LENS},
        {"field": "lenses.right.blank_mm", "now": 70.0, "yours": None},
    ]
    assert fresh(order).lifted == []


def test_what_is_only_added_needs_no_version() -> None:
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=1)
    noted = caller().post(reverse("api-order-events", args=[order.public_id]), {"kind": "note", "note": "Rang"})
    assert noted.status_code == 201
    assert fresh(order).version == 2
