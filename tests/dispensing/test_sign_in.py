"""Signing in, being locked out, and what each role meets on the first page."""

from __future__ import annotations

import pytest
from django.core.cache import cache
from django.test import Client, RequestFactory
from django.views.defaults import server_error
from pytest_django import Settings

from dispensing.models import AuditEvent
from tests.people import PASSWORD, Answer, person, signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _nobody_is_locked_out() -> None:
    cache.clear()


def _try(client: Client, password: str, username: str = "dora") -> Answer:
    return client.post("/sign-in/", {"username": username, "password": password})


def test_a_member_of_staff_signs_in_with_name_and_password() -> None:
    person("dora")
    answer = _try(Client(), PASSWORD)
    assert answer.status_code == 302
    assert answer["Location"] == "/"


def test_a_sign_in_ends_with_the_browser_and_after_a_working_day_at_the_latest(settings: Settings) -> None:
    person("dora")
    cookie = _try(Client(), PASSWORD).cookies["sessionid"]
    assert (cookie["max-age"], cookie["expires"], cookie["httponly"]) == ("", "", True)
    assert settings.SESSION_COOKIE_AGE <= 12 * 60 * 60


def test_a_wrong_password_is_told_in_plain_words() -> None:
    person("dora")
    answer = _try(Client(), "wrong")
    assert b"do not match" in answer.content


def test_five_wrong_passwords_lock_the_name_even_for_the_right_one() -> None:
    person("dora")
    client = Client()
    answers = [_try(client, "wrong") for _ in range(5)]
    assert answers[3].status_code == 200
    assert answers[4].status_code == 429
    locked = _try(client, PASSWORD)
    assert locked.status_code == 429
    assert b"15 minutes" in locked.content
    assert client.get("/").status_code == 302


def test_a_lab_cannot_sign_in_to_the_pages() -> None:
    person("lena")
    assert b"works only for the programming interface" in _try(Client(), PASSWORD, "lena").content


def test_a_stranger_is_sent_to_the_sign_in_page() -> None:
    answer = Client().get("/patients/")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in/")


def test_signing_out_needs_a_button_and_not_a_link() -> None:
    client = signed_in("dora")
    assert client.get("/sign-out/").status_code == 405
    assert client.post("/sign-out/").status_code == 302
    assert client.get("/").status_code == 302


def test_a_changed_password_holds_and_stands_in_the_audit_trail() -> None:
    client = signed_in("dora")
    new = "a-longer-word-than-before"
    client.post("/password/", {"old_password": PASSWORD, "new_password1": new, "new_password2": new})
    assert _try(Client(), new).status_code == 302
    assert AuditEvent.objects.filter(verb="staff.change_password", actor__username="dora").count() == 1


@pytest.mark.parametrize(
    ("who", "sees", "sees_not"),
    [
        ("dora", "Register a patient", "Staff</a>"),
        ("ravi", "Register a patient", "Staff</a>"),
        ("ines", "Staff</a>", "Sign in</h1>"),
    ],
)
def test_the_menu_shows_what_the_role_may_open(who: str, sees: str, sees_not: str) -> None:
    page = signed_in(who).get("/").content.decode()
    assert sees in page
    assert sees_not not in page


def test_no_page_carries_an_inline_style_or_script() -> None:
    page = signed_in("ines").get("/").content.decode()
    assert " style=" not in page
    assert "<script>" not in page


def test_a_form_from_before_signing_in_is_refused_with_what_to_do() -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(person("dora"), backend="django.contrib.auth.backends.ModelBackend")
    answer = client.post("/patients/new/", {})
    assert answer.status_code == 403
    assert b"The form was open too long" in answer.content


def test_a_page_beyond_one_s_role_says_so_and_leads_back() -> None:
    answer = signed_in("dora").get("/staff/")
    assert answer.status_code == 403
    assert b"Your role does not include" in answer.content
    assert b"Go to the start page" in answer.content


def test_a_fault_of_ours_is_told_without_details() -> None:
    answer = server_error(RequestFactory().get("/"))
    assert b"Nothing you saved before is lost" in answer.content
