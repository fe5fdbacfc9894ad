"""The demo's password is known to everybody: it opens nothing in a real practice, and the demo stays out of one."""

from __future__ import annotations

import io
from typing import Any

import pytest
from django.contrib.auth import authenticate
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.test import Client, RequestFactory
from pytest_django import Settings

from dispensing.demo_password import demo_facts
from dispensing.doctor.registry import Level, diagnose
from dispensing.models import StaffUser
from orders.demo.people import read
from orders.management.commands import load_demo
from tests.people import PASSWORD, person

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]
DEMO = demo_facts()["password"]
OWN = "lamp oil and quiet mornings"


@pytest.fixture
def real(settings: Settings) -> Settings:
    settings.PRODUCTION, settings.DEBUG = True, False
    return settings


def signs_in(password: str) -> bool:
    request = RequestFactory().post("/sign-in/")
    return authenticate(request, username="dora", password=password) is not None


def test_it_opens_nothing_in_a_real_practice_and_another_password_does(real: Settings) -> None:
    assert PASSWORD == DEMO, "the cast of the tests has it"
    person("dora")
    assert not signs_in(DEMO)
    page = Client().post("/sign-in/", {"username": "dora", "password": DEMO})
    assert "_auth_user_id" not in page.client.session
    user = person("dora")
    user.set_password(OWN)
    user.save()
    assert signs_in(OWN)


@pytest.mark.parametrize(("production", "debug"), [(False, False), (True, True)])
def test_it_opens_the_demo_and_an_installation_that_somebody_tries_out(
    settings: Settings, production: bool, debug: bool
) -> None:
    settings.PRODUCTION, settings.DEBUG = production, debug
    person("dora")
    assert signs_in(DEMO)


def test_nobody_may_choose_it(real: Settings) -> None:
    with pytest.raises(ValidationError, match="password of the demo"):
        validate_password(DEMO)
    validate_password(OWN)


def test_the_doctor_finds_staff_of_the_demo_in_a_real_practice(real: Settings) -> None:
    def said() -> list[Any]:
        return [(found.level, found.said) for name, found in diagnose() if name == "demo"]

    person("dora")  # has the password, but no name of the demo; nothing but the password is looked at in the others
    assert said() == [(Level.OK, "nobody has the password of the demo")]
    user = StaffUser(username=demo_facts()["staff"][0]["username"], role="front_desk")
    user.set_password(DEMO)
    user.save()
    assert [(level, user.username in words) for level, words in said()] == [(Level.WRONG, True)]


def test_the_demo_is_not_loaded_into_a_database_that_the_settings_name(real: Settings) -> None:
    with pytest.raises(CommandError, match="--into-named-database"):
        call_command("load_demo")
    assert not StaffUser.objects.exists()


def test_told_to_it_is_loaded_with_a_new_password_that_is_shown_once(
    real: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(load_demo, "read", lambda name: read(name) if name == "practice.json" else [])
    out = io.StringIO()
    call_command("load_demo", "--into-named-database", stdout=out)
    password = out.getvalue().split("shown this once: ")[1].split("\n")[0]
    staff = list(StaffUser.objects.all())
    assert len(staff) == len(demo_facts()["staff"])
    assert all(user.check_password(password) and not user.check_password(DEMO) for user in staff)
