"""Who looked at which patient and from where: one row a visit; sign-ins and what goes wrong with them beside it."""

from __future__ import annotations

import logging
from datetime import date, datetime, timedelta
from typing import Any
from unittest import mock

import pytest
from django.core.cache import cache
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from dispensing import reading_trace
from dispensing.models import AuditEvent, Look, Patient
from dispensing.presentation.audit import changes_told
from dispensing.queries.audit import AuditSearch, audit_events
from dispensing.services.audit import record
from dispensing.services.looks import VISIT
from tests.builders import a_patient, a_prescription
from tests.people import PASSWORD, person, signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _nobody_is_locked_out() -> None:
    cache.clear()


def look(client: Client, patient: Patient) -> None:
    assert client.get(reverse("patient-page", args=[patient.public_id])).status_code == 200


def visits(**asked: Any) -> list[tuple[str, str, int]]:
    found = Look.objects.filter(**asked).order_by("pk")
    return [(row.person.username, row.patient.reference if row.patient else "", row.count) for row in found]


def test_a_visit_is_one_row_however_many_pages_and_everybody_and_every_patient_has_their_own() -> None:
    ours, other = a_patient(reference="P-1"), a_patient(reference="P-2")
    prescription = a_prescription(ours)
    dora, ravi = signed_in("dora"), signed_in("ravi")
    look(dora, ours)
    dora.get(reverse("prescription-page", args=[prescription.public_id]))
    look(dora, other)
    look(ravi, ours)
    assert visits() == [("dora", "P-1", 2), ("dora", "P-2", 1), ("ravi", "P-1", 1)]
    begun = AuditEvent.objects.filter(verb="patient.look", patient=ours).order_by("pk")
    assert [(event.actor, event.address) for event in begun] == [
        (person("dora"), "127.0.0.1"),
        (person("ravi"), "127.0.0.1"),
    ]


@pytest.mark.parametrize(("idle", "rows"), [(VISIT - timedelta(seconds=30), 1), (VISIT + timedelta(seconds=30), 2)])
def test_after_half_an_hour_without_a_look_another_visit_begins(idle: timedelta, rows: int) -> None:
    patient, client = a_patient(), signed_in("dora")
    look(client, patient)
    Look.objects.update(last_at=timezone.now() - idle)
    look(client, patient)
    assert Look.objects.count() == rows


def test_the_same_person_from_elsewhere_is_another_visit() -> None:
    patient, client = a_patient(), signed_in("dora")
    look(client, patient)
    client.get(reverse("patient-page", args=[patient.public_id]), REMOTE_ADDR="192.0.2.7")
    assert list(Look.objects.order_by("pk").values_list("address", "count")) == [("127.0.0.1", 1), ("192.0.2.7", 1)]


def test_who_is_refused_or_finds_nobody_has_seen_nothing() -> None:
    a_patient()
    Client().get(reverse("patient-list"))
    signed_in("dora").get(reverse("patient-page", args=["00000000-0000-4000-8000-000000000000"]))
    signed_in("lena").get(reverse("patient-list"))
    assert not Look.objects.exists()


def test_lists_are_one_visit_together_and_name_no_patient() -> None:
    for name in ("Abernathy", "Aberdour"):
        a_patient(family_name=name, search_text=name.lower())
    client = signed_in("dora")
    client.get(reverse("patient-list"))
    client.post(reverse("patient-find"), {"text": "aber"})
    assert visits() == [("dora", "", 2)]
    assert AuditEvent.objects.get().changes == {}


def test_reading_goes_on_where_nothing_can_be_written(caplog: pytest.LogCaptureFixture) -> None:
    patient = a_patient()
    full = OperationalError("database or disk is full: P-00001")
    logger = logging.getLogger("datumline.trace")
    with mock.patch.object(reading_trace, "note_looks", side_effect=full), caplog.at_level("ERROR", logger.name):
        look(signed_in("dora"), patient)
    assert [line.getMessage() for line in caplog.records] == ["A look at a record could not be noted: OperationalError"]


def sign_in(password: str, username: str = "dora", **headers: Any) -> Client:
    client = Client(**headers)
    client.post(reverse("sign-in"), {"username": username, "password": password})
    return client


def trail() -> list[tuple[str, str]]:
    found = AuditEvent.objects.filter(verb__startswith="sign-").order_by("pk")
    return [(event.verb, event.actor.username if event.actor else "") for event in found]


def test_signing_in_failing_and_signing_out_stand_on_the_trail_with_where_from() -> None:
    person("dora")
    sign_in("not-the-password")
    sign_in(PASSWORD, REMOTE_ADDR="192.0.2.7").post(reverse("sign-out"))
    assert trail() == [("sign-in.failed", "dora"), ("sign-in.done", "dora"), ("sign-out.done", "dora")]
    assert [event.address for event in AuditEvent.objects.order_by("pk")] == ["127.0.0.1", "192.0.2.7", "192.0.2.7"]
    assert "not-the-password" not in str(list(AuditEvent.objects.values()))


def test_what_was_typed_as_a_name_is_kept_only_where_somebody_has_it() -> None:
    person("dora")
    sign_in("x", username=PASSWORD)
    assert trail() == [("sign-in.unknown", "")]
    assert PASSWORD not in str(list(AuditEvent.objects.values()))


def test_a_lock_out_is_told_once_and_what_is_tried_meanwhile_not_at_all() -> None:
    person("dora")
    for _ in range(8):
        sign_in("wrong")
    assert trail() == [("sign-in.failed", "dora")] * 4 + [("sign-in.locked", "dora")]


def test_the_trail_is_searched_by_day_with_both_days_included() -> None:
    days = [date(2026, 11, day) for day in (1, 2, 3)]
    for day in days:
        at = timezone.make_aware(datetime.combine(day, datetime.max.time()))
        with mock.patch("django.utils.timezone.now", return_value=at):
            record(actor=person("ravi"), verb=f"on.{day.day}")
    search = AuditSearch(since=days[1], until=days[1])
    assert [event.verb for event in audit_events(search)] == ["on.2"]
    assert [event.verb for event in audit_events(AuditSearch(since=days[1]))] == ["on.3", "on.2"]
    assert [event.verb for event in audit_events(AuditSearch(until=days[1]))] == ["on.2", "on.1"]


def test_the_trail_tells_how_long_a_visit_went_on() -> None:
    patient, client = a_patient(), signed_in("ravi")
    look(client, patient)
    look(client, patient)
    page = signed_in("ines").get(reverse("audit-of-patient", args=[patient.public_id])).content.decode()
    assert "Looked at a patient" in page
    assert "2 times" in page
    assert "127.0.0.1" in page
    assert changes_told(AuditEvent.objects.get(verb="patient.look", actor__username="ravi")) == []
