"""The list of those who wait: marked at the desk, seen by all, taken by one, ended once."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from dispensing.models import AuditEvent, Patient, Waiting
from dispensing.queries.staff import at_work
from dispensing.queries.waiting import wait_of, waiting_now
from dispensing.services.waiting import CannotWait, end_waiting, mark_waiting, take_waiting
from tests.orders import shop
from tests.people import Answer, person, signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def two() -> tuple[Patient, Patient]:
    return shop.patient("P-90001"), shop.patient("P-90002")


def marked(patient: Patient, **said: Any) -> Waiting:
    return mark_waiting(actor=person("dora"), patient=patient, **{"purpose": "collect", **said})


def post(name: str, key: Any, username: str = "dora", **typed: Any) -> Answer:
    return signed_in(username).post(reverse(name, args=[key]), typed, follow=True)


def told(page: Answer) -> list[str]:
    return [str(message) for message in page.context["messages"]]


def test_the_desk_marks_a_patient_and_the_dispenser_finds_them_on_the_first_page(two: tuple[Patient, Patient]) -> None:
    patient, _ = two
    post("waiting-mark", patient.public_id, purpose="measure", wanted=person("ravi").username, note="In a hurry")
    (row,) = waiting_now()
    assert (row.patient, row.purpose, row.wanted, row.note) == (patient, "measure", person("ravi"), "In a hurry")
    assert (row.marked_by, row.taken_by, row.ended_at) == (person("dora"), None, None)
    assert AuditEvent.objects.filter(verb="waiting.mark", patient=patient, actor=person("dora")).count() == 1
    page = signed_in("ravi").get(reverse("home")).content.decode()
    assert "To be measured" in page
    assert "<strong>You</strong>" in page
    assert "<strong>You</strong>" not in signed_in("ines").get(reverse("home")).content.decode()


def test_nobody_is_on_the_list_twice_and_the_neighbour_can_be(two: tuple[Patient, Patient]) -> None:
    patient, neighbour = two
    first = marked(patient)
    page = post("waiting-mark", patient.public_id, purpose="choose", wanted="", note="")
    assert told(page) == [f"{patient.full_name} is on the list already, since {timezone.localtime(first.since):%H:%M}."]
    second = marked(neighbour)
    assert list(waiting_now()) == [first, second]
    with pytest.raises(IntegrityError), transaction.atomic():
        Waiting.objects.create(patient=patient, purpose="other", since=timezone.now())


def test_one_who_was_forgotten_yesterday_is_neither_listed_nor_in_the_way(two: tuple[Patient, Patient]) -> None:
    patient, neighbour = two
    forgotten, beside = marked(patient), marked(neighbour)
    midnight = timezone.localtime().replace(hour=0, minute=0, second=0, microsecond=0)
    Waiting.objects.filter(pk=forgotten.pk).update(since=midnight - timedelta(seconds=1))
    Waiting.objects.filter(pk=beside.pk).update(since=midnight)
    assert [row.patient for row in waiting_now()] == [neighbour]
    again = marked(patient)
    assert wait_of(patient) == again
    forgotten.refresh_from_db()
    assert forgotten.ended_at == again.since


def test_whoever_takes_one_is_shown_and_a_second_is_told(two: tuple[Patient, Patient]) -> None:
    first, second = (marked(patient) for patient in two)
    page = post("waiting-take", first.public_id, "ravi")
    assert page.redirect_chain[-1][0] == reverse("patient-page", args=[first.patient.public_id])
    first.refresh_from_db()
    assert first.taken_by == person("ravi")
    assert list(waiting_now()) == [second, first]  # those whom nobody has taken come first
    at = f"{timezone.localtime(first.taken_at):%H:%M}"
    assert f"With <bdi>{person('ravi')}</bdi> since {at}" in signed_in("ines").get(reverse("home")).content.decode()
    assert told(post("waiting-take", first.public_id, "ines")) == [
        f"Ravi Castellan took {first.patient.full_name} at {at}."
    ]
    take_waiting(actor=person("ravi"), wait=first)  # a second press of the same person changes nothing
    assert AuditEvent.objects.filter(verb="waiting.take").count() == 1
    second.refresh_from_db()
    assert second.taken_by is None


def test_a_wait_ends_once_and_the_other_goes_on(two: tuple[Patient, Patient]) -> None:
    first, second = (marked(patient) for patient in two)
    page = post("waiting-end", first.public_id, "ravi")
    assert page.redirect_chain[-1][0] == reverse("home")
    assert list(waiting_now()) == [second]
    with pytest.raises(CannotWait, match="was taken off the list at"):
        end_waiting(actor=person("dora"), wait=first)
    assert "was taken off the list at" in told(post("waiting-take", first.public_id, "ines"))[0]
    page = post("waiting-end", second.public_id, "ravi", from_record="1")
    assert page.redirect_chain[-1][0] == reverse("patient-page", args=[second.patient.public_id])
    assert not waiting_now()


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"purpose": "tea"}, "purpose", "tea"),
        ({"wanted": "nobody"}, "wanted", "Nobody of that sign-in name works here."),
        ({"note": "x" * 201}, "note", "200"),
    ],
)
def test_what_cannot_be_is_said_beside_the_field_and_the_rest_stays_typed(
    two: tuple[Patient, Patient], typed: dict[str, str], field: str, said: str
) -> None:
    patient, _ = two
    page = post("waiting-mark", patient.public_id, **({"purpose": "adjust", "wanted": "", "note": "Loose"} | typed))
    form = page.context["form"]
    assert list(form.errors) == [field]
    assert said in form.errors[field][0]
    assert form["note"].value() == typed.get("note", "Loose")
    assert not waiting_now()


def test_a_patient_can_wait_for_those_who_work_here_and_for_no_lab() -> None:
    for name in ("dora", "ravi", "lena"):
        person(name)
    person("gone", is_active=False, role="dispenser")
    assert [user.username for user in at_work()] == ["dora", "ravi"]


def test_the_list_asks_for_itself_again_and_is_empty_when_nobody_waits(two: tuple[Patient, Patient]) -> None:
    client = signed_in("ravi")
    empty = client.get(reverse("waiting-list")).content.decode()
    assert "every 30s" in empty
    assert "<table" not in empty
    marked(two[0])
    assert two[0].listed_name in client.get(reverse("waiting-list")).content.decode()
    assert two[1].listed_name == two[0].listed_name or two[1].listed_name not in empty
