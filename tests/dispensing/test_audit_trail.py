"""The audit trail is read newest first, and is filtered without ever putting a patient's reference in an address."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from dispensing.models import AuditEvent
from dispensing.presentation.audit import VERBS, Change, changes_told, field_in_words, verb_in_words
from dispensing.services.audit import record
from tests.builders import a_frame, a_patient
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db

TRAIL = "audit-trail"


def shown(client: Client, url: str, **search: Any) -> list[Any]:
    return [event.verb for event in client.get(url, search).context["page"].rows]


def test_the_trail_is_shown_newest_first_and_every_event_once() -> None:
    for number in range(120):
        record(actor=person("ravi"), verb=f"frame.change{number:03d}")
    client, after, seen = signed_in("ines"), "", []
    while True:
        page = client.get(reverse(TRAIL), {"after": after}).context["page"]
        seen += [event.verb for event in page.rows]
        after = page.next_key
        if not after:
            break
    assert seen == [f"frame.change{number:03d}" for number in reversed(range(120))]


def test_a_page_that_is_being_read_does_not_shift_when_something_is_added() -> None:
    for number in range(60):
        record(actor=None, verb=f"v{number}")
    client = signed_in("ines")
    key = client.get(reverse(TRAIL)).context["page"].next_key
    record(actor=None, verb="meanwhile")
    assert shown(client, reverse(TRAIL), after=key)[0] == "v9"


def test_the_trail_is_narrowed_by_person_and_by_what_was_done() -> None:
    record(actor=person("ravi"), verb="frame.add")
    record(actor=person("ravi"), verb="frame.change")
    record(actor=person("dora"), verb="frame.add")
    client, url = signed_in("ines"), reverse(TRAIL)
    assert shown(client, url, person="ravi") == ["frame.change", "frame.add"]
    assert shown(client, url, person="dora", verb="frame.add") == ["frame.add"]
    assert shown(client, url, person="dora", verb="frame.change") == []


@pytest.mark.parametrize("typed", ["P-00017", "p-00017", " P-00017 "])
def test_a_patients_trail_is_found_by_reference_without_it_standing_in_an_address(typed: str) -> None:
    patient = a_patient(reference="P-00017")
    record(actor=person("dora"), verb="patient.correct", patient=patient, changes={"phone": ["1", "2"]})
    record(actor=person("dora"), verb="frame.add")
    client = signed_in("ines")
    response = client.post(reverse("audit-find-patient"), {"reference": typed})
    assert "P-00017" not in response["Location"]
    assert shown(client, response["Location"]) == ["patient.correct"]


def test_a_reference_nobody_has_is_said_beside_the_field() -> None:
    response = signed_in("ines").post(reverse("audit-find-patient"), {"reference": "P-99999"})
    assert "No patient has the reference P-99999" in response.context["patient_form"].errors["reference"][0]
    assert signed_in("ines").get(reverse("audit-find-patient")).status_code == 405


def test_old_and_new_value_are_shown_and_never_as_markup() -> None:
    changes = {"given_names": ["<b>Ann</b>", "Anne"], "pd_mm right": [None, "31.50"], "notes": ["x" * 500, None]}
    record(actor=None, verb="patient.correct", patient=a_patient(), changes=changes)
    page = signed_in("ines").get(reverse(TRAIL)).content.decode()
    assert "&lt;b&gt;Ann&lt;/b&gt;" in page
    assert "<b>Ann</b>" not in page
    assert "PD right: <bdi>31.50</bdi>" in page
    assert "x" * 121 not in page
    assert "the program" in page


def test_choices_and_answers_are_told_in_words() -> None:
    frame, patient = a_frame(), a_patient()
    record(actor=person("ravi"), verb="frame.change", target=frame, changes={"mount": ["full_rim", "drilled"]})
    changes = {"driver": [None, "True"], "notes": ["full_rim", "True story"]}
    record(actor=person("ravi"), verb="patient.correct", target=patient, patient=patient, changes=changes)
    corrected, changed = AuditEvent.objects.order_by("-pk")[:2]
    assert changes_told(changed) == [Change("mount", "Full rim", "Drilled (rimless)")]
    assert set(changes_told(corrected)) == {Change("driver", "", "yes"), Change("notes", "full_rim", "True story")}


def test_a_page_of_the_trail_needs_as_many_queries_for_fifty_events_as_for_one(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    record(actor=person("ravi"), verb="frame.add", patient=a_patient())
    client = signed_in("ines")
    client.get(reverse(TRAIL))
    with django_assert_num_queries(7):
        client.get(reverse(TRAIL))
    for _ in range(60):
        record(actor=person("ravi"), verb="frame.add", patient=a_patient())
    with django_assert_num_queries(7):
        client.get(reverse(TRAIL))


def test_an_event_cannot_be_changed_even_around_the_services() -> None:
    event = record(actor=None, verb="frame.add")
    for change in (
        lambda: AuditEvent.objects.filter(pk=event.pk).update(verb="nothing"),
        lambda: AuditEvent.objects.filter(pk=event.pk).delete(),
    ):
        with pytest.raises(DatabaseError, match="cannot be changed"), transaction.atomic():
            change()


WORDS = [
    ("frame.add", "Added a frame"),
    ("order.weigh", "Order: weigh"),
    ("staff.reset-password", "Gave a new password"),
    ("delivery.set_aside", "Delivery: set aside"),
]


@pytest.mark.parametrize(("verb", "words"), WORDS)
def test_a_verb_is_read_as_words_whether_it_is_listed_or_not(verb: str, words: str) -> None:
    assert verb_in_words(verb) == words


@pytest.mark.parametrize(
    ("name", "words"), [("a_mm", "A"), ("pd_mm right", "PD right"), ("binocular_pd_mm both", "binocular PD")]
)
def test_a_field_is_read_in_trade_words(name: str, words: str) -> None:
    assert field_in_words(name) == words


def test_every_verb_this_app_writes_has_its_words() -> None:
    services = Path(__file__).resolve().parents[2] / "dispensing"
    written = {verb for path in services.rglob("*.py") for verb in re.findall(r'verb="([^"]+)"', path.read_text())}
    assert written <= set(VERBS)
