"""``manage.py add_manager``: how the first person gets into an empty practice."""

from __future__ import annotations

import io

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from dispensing.doctor.registry import Diagnosis, Level, diagnose
from dispensing.models import AuditEvent
from tests.people import person

pytestmark = pytest.mark.django_db


def add_manager(*words: str) -> str:
    out = io.StringIO()
    call_command("add_manager", *words, stdout=out)
    return out.getvalue()


def test_the_first_manager_of_an_empty_practice_signs_in_and_takes_on_others() -> None:
    said = add_manager("olga", "Olga", "Quill")
    given = next(line.strip() for line in said.splitlines() if line.startswith("    "))
    client = Client()
    client.post(reverse("sign-in"), {"username": "olga", "password": given})
    own = "a-word-nobody-else-knows"
    client.post(reverse("password-change"), {"old_password": given, "new_password1": own, "new_password2": own})
    assert client.get(reverse("staff-new")).status_code == 200
    assert AuditEvent.objects.get(verb="staff.add").actor is None


@pytest.mark.parametrize(("name", "fault"), [("INES", "is taken"), ("in es", "valid username")])
def test_a_sign_in_name_that_cannot_be_had_is_refused(name: str, fault: str) -> None:
    person("ines")
    with pytest.raises(CommandError, match=fault):
        add_manager(name, "Ines", "Holloway")


def test_the_doctor_says_how_a_practice_without_a_manager_gets_one() -> None:
    def told() -> Diagnosis:
        return next(diagnosis for check, diagnosis in diagnose() if check == "staff")

    person("olga", role="manager", is_active=False)
    assert told().level == Level.NOTE
    assert "add_manager" in told().to_do
    person("ines")
    assert told().level == Level.OK
