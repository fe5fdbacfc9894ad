"""One's own sessions: seen, ended, ended by a new password, and ended by leaving the desk."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from dispensing.models import AuditEvent, Practice, SignedIn
from dispensing.presentation.browsers import browser_in_words
from tests.accessibility import no_faults
from tests.browser import sign_in
from tests.people import PASSWORD, person

pytestmark = pytest.mark.django_db

FIREFOX = "Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:128.0) Gecko/20100101 Firefox/128.0"
CHROME = "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126.0 Safari/537.36"


@pytest.fixture(autouse=True)
def _nobody_is_locked_out() -> None:
    cache.clear()


def at_a_browser(username: str = "dora", agent: str = CHROME, **headers: Any) -> Client:
    person(username)
    client = Client(HTTP_USER_AGENT=agent, **headers)
    client.post(reverse("sign-in"), {"username": username, "password": PASSWORD})
    assert is_in(client)
    return client


def is_in(client: Client) -> bool:
    return client.get(reverse("frame-list")).status_code == 200


def listed(client: Client) -> list[tuple[str, str]]:
    return [(browser, row.address) for row, browser in client.get(reverse("account-page")).context["sessions"]]


def test_one_sees_ones_own_browsers_and_nobody_elses() -> None:
    here = at_a_browser()
    at_a_browser(agent=FIREFOX, REMOTE_ADDR="192.0.2.7")
    at_a_browser("ravi")
    assert sorted(listed(here)) == [("Chrome on Linux", "127.0.0.1"), ("Firefox on Windows", "192.0.2.7")]
    assert b"This one" in here.get(reverse("account-page")).content


def test_one_session_is_ended_and_no_other() -> None:
    here, there, third, ravi = at_a_browser(), at_a_browser(agent=FIREFOX), at_a_browser(), at_a_browser("ravi")
    row = SignedIn.objects.get(browser=FIREFOX)
    here.post(reverse("account-session-end"), {"session": row.public_id})
    assert [is_in(client) for client in (here, there, third, ravi)] == [True, False, True, True]
    assert AuditEvent.objects.filter(verb="sign-out.elsewhere", actor=person("dora")).count() == 1


def test_nobody_ends_a_session_of_somebody_else() -> None:
    dora, ravi = at_a_browser(), at_a_browser("ravi")
    dora.post(reverse("account-session-end"), {"session": SignedIn.objects.get(user=person("ravi")).public_id})
    assert is_in(ravi)


def test_all_others_are_ended_at_once() -> None:
    here, there, ravi = at_a_browser(), at_a_browser(), at_a_browser("ravi")
    here.post(reverse("account-session-end"))
    assert [is_in(client) for client in (here, there, ravi)] == [True, False, True]


def test_a_new_password_ends_the_others_and_this_one_goes_on() -> None:
    here, there = at_a_browser(), at_a_browser(agent=FIREFOX)
    new = "a-longer-word-than-before"
    here.post(reverse("password-change"), {"old_password": PASSWORD, "new_password1": new, "new_password2": new})
    assert [is_in(here), is_in(there)] == [True, False]
    assert listed(here) == [("Chrome on Linux", "127.0.0.1")]


def test_signing_out_takes_the_session_off_the_list() -> None:
    here, there = at_a_browser(), at_a_browser(agent=FIREFOX)
    there.post(reverse("sign-out"))
    assert listed(here) == [("Chrome on Linux", "127.0.0.1")]


def was_seen(ago: timedelta) -> None:
    SignedIn.objects.update(last_at=timezone.now() - ago)


@pytest.mark.parametrize(("idle", "still_in"), [(timedelta(minutes=19), True), (timedelta(minutes=21), False)])
def test_whoever_leaves_the_desk_is_signed_out_after_the_practices_minutes(idle: timedelta, still_in: bool) -> None:
    Practice.objects.filter(pk=Practice.current().pk).update(idle_minutes=20)
    client = at_a_browser()
    was_seen(idle)
    assert is_in(client) == still_in
    assert AuditEvent.objects.filter(verb="sign-out.idle").exists() != still_in


@pytest.mark.parametrize(("idle", "forgets"), [(timedelta(0), False), (timedelta(hours=2), True)])
def test_the_browser_is_told_to_forget_the_pages_of_whoever_left_the_desk(idle: timedelta, forgets: bool) -> None:
    client = at_a_browser()
    was_seen(idle)
    before = client.cookies["csrftoken"].value
    answer = client.get(reverse("patient-list"))
    assert answer.headers.get("Clear-Site-Data") == ('"cache"' if forgets else None)
    assert (client.cookies["csrftoken"].value != before) == forgets
    assert at_a_browser().post(reverse("sign-out")).headers["Clear-Site-Data"] == '"cache"'


def test_a_page_that_only_asks_is_not_somebody_at_the_desk() -> None:
    client = at_a_browser()
    was_seen(timedelta(minutes=10))
    before = SignedIn.objects.get().last_at
    assert client.get(reverse("still-signed-in")).json() == {"name": "dora"}
    assert client.get(reverse("waiting-list")).status_code == 200
    assert SignedIn.objects.get().last_at == before
    is_in(client)
    assert SignedIn.objects.get().last_at > before
    was_seen(timedelta(minutes=31))
    assert client.get(reverse("still-signed-in")).json() == {"name": ""}


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        (FIREFOX, "Firefox on Windows"),
        (CHROME, "Chrome on Linux"),
        (CHROME + " Edg/126.0", "Edge on Linux"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) Version/17.5 Safari/604.1", "Safari on an iPhone"),
        ("Mozilla/5.0 (Macintosh; Intel Mac OS X 14_5) Version/17.5 Safari/605.1", "Safari on a Mac"),
        ("curl/8", "An unknown browser"),
        ("", "An unknown browser"),
    ],
)
def test_a_browser_is_told_in_plain_words(agent: str, words: str) -> None:
    assert browser_in_words(agent) == words


@pytest.mark.browser
def test_what_was_typed_survives_being_signed_out(page: Page) -> None:
    sign_in(page, "dora")
    person("ravi")
    page.clock.install()
    page.goto("/patients/new/")
    page.get_by_label("Family name").fill("Oakes")
    page.get_by_label("Given names").fill("Ida")
    cover = page.get_by_role("dialog", name="You are signed out")
    go_on = page.get_by_role("button", name="Go on here")

    # A form is not sent to a server that knows nobody any more.
    page.context.clear_cookies()
    page.clock.fast_forward("02:00")
    page.get_by_label("Family name").press("Enter")
    expect(cover).to_be_visible()
    no_faults(page)
    page.keyboard.press("Escape")
    expect(cover).to_be_visible()
    with page.expect_popup() as opened:
        page.get_by_role("link", name="Sign in again in a new window").press("Enter")
    again = opened.value

    def signs_in(username: str) -> None:
        again.locator("[name=username]").fill(username)
        again.locator("[name=password]").fill(PASSWORD)
        again.keyboard.press("Enter")
        expect(again.locator("h1")).to_have_text("You are signed in again")

    # Somebody else goes on with nothing.
    signs_in("ravi")
    go_on.click()
    expect(cover).to_contain_text("Somebody else is signed in here now")
    page.context.clear_cookies()
    again.goto("/sign-in/?next=/signed-in-again/")
    signs_in("dora")
    go_on.click()
    expect(cover).to_be_hidden()

    # Left alone, the page is covered by itself.
    was_seen(timedelta(minutes=31))
    page.clock.fast_forward("31:00")
    expect(cover).to_be_visible()
    again.goto("/sign-in/?next=/signed-in-again/")
    signs_in("dora")
    go_on.click()
    expect(cover).to_be_hidden()
    page.get_by_label("Date of birth").fill("3 2 1980")
    page.get_by_role("button", name="Register").first.click()
    expect(page.locator("h1")).to_contain_text("Oakes")
