"""Signing in, being locked out, and what each role meets on the first page."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client, RequestFactory
from django.views.defaults import server_error
from pytest_django import Settings

from dispensing.client_address import client_address
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


def at(address: str, **headers: Any) -> Client:
    return Client(REMOTE_ADDR=address, **headers)


def locked(client: Client, username: str = "dora") -> bool:
    return _try(client, PASSWORD, username).status_code == 429


def test_guessing_from_elsewhere_does_not_lock_a_colleague_out() -> None:
    person("dora")
    for _ in range(6):
        _try(at("203.0.113.9"), "wrong")
    assert locked(at("203.0.113.9"))
    assert not locked(at("192.0.2.10"))


def test_behind_a_proxy_the_client_is_locked_and_not_the_proxy(settings: Settings) -> None:
    settings.TRUSTED_PROXIES = 1
    person("dora")
    guesser = at("10.0.0.1", HTTP_X_FORWARDED_FOR="203.0.113.9")
    for _ in range(5):
        _try(guesser, "wrong")
    assert locked(guesser)
    assert not locked(at("10.0.0.1", HTTP_X_FORWARDED_FOR="192.0.2.10"))


@pytest.mark.parametrize(
    ("proxies", "forwarded", "address"),
    [
        (0, "198.51.100.7", "10.0.0.1"),
        (1, "", "10.0.0.1"),
        (1, "192.0.2.10", "192.0.2.10"),
        (1, "198.51.100.7, 192.0.2.10", "192.0.2.10"),
        (2, "198.51.100.7, 192.0.2.10, 10.0.0.2", "192.0.2.10"),
        (2, "192.0.2.10", "192.0.2.10"),
    ],
)
def test_only_as_many_proxies_are_believed_as_there_are(
    settings: Settings, proxies: int, forwarded: str, address: str
) -> None:
    """What a client writes into the header before the first proxy adds to it is never believed."""
    settings.TRUSTED_PROXIES = proxies
    request = RequestFactory().get("/", REMOTE_ADDR="10.0.0.1", HTTP_X_FORWARDED_FOR=forwarded)
    assert client_address(request) == address


def test_an_address_that_guesses_at_many_names_is_closed_but_no_other(settings: Settings) -> None:
    settings.MOST_FAILURES_OF_AN_ADDRESS = 6
    person("dora")
    for number in range(5):
        _try(at("203.0.113.9"), "wrong", f"name-{number}")
    assert not locked(at("203.0.113.9"))
    _try(at("203.0.113.9"), "wrong", "name-6")
    assert locked(at("203.0.113.9"))
    assert not locked(at("192.0.2.10"))


def test_guessing_the_present_password_on_the_password_page_is_locked_as_well() -> None:
    client, new = signed_in("dora"), "a-longer-word-than-before"

    def change(old: str) -> Answer:
        return client.post("/password/", {"old_password": old, "new_password1": new, "new_password2": new})

    assert b"old password was entered incorrectly" in change("wrong").content
    assert [change("wrong").status_code for _ in range(4)] == [200, 200, 200, 429]
    assert change(PASSWORD).status_code == 429
    assert not AuditEvent.objects.filter(verb="staff.change_password").exists()


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
