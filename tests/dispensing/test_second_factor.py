"""A second factor: set up, asked for at sign-in and counted by the lock-out, demanded of managers, and taken off."""

from __future__ import annotations

import io
import re
import time
from typing import Any

import pytest
from django.core.cache import cache
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django_otp.oath import TOTP
from django_otp_webauthn.models import WebAuthnCredential
from playwright.sync_api import Page, expect

from dispensing import half_signed_in
from dispensing.models import AuditEvent, AuthenticatorApp, Practice, RecoveryCode, RecoverySet, StaffUser
from dispensing.services.second_factors import new_recovery_codes
from tests.accessibility import no_faults
from tests.people import PASSWORD, Answer, person, signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _nobody_is_locked_out() -> None:
    cache.clear()


def code_of(device: AuthenticatorApp, steps: int = 0) -> str:
    totp = TOTP(device.bin_key)
    totp.time = time.time() + steps * device.step
    return f"{totp.token():06d}"


def with_app(username: str) -> AuthenticatorApp:
    return AuthenticatorApp.objects.create(user=person(username), name="app", confirmed=True)


def password_given(username: str = "dora") -> Client:
    client = Client()
    person(username)
    client.post(reverse("sign-in") + "?next=/frames/", {"username": username, "password": PASSWORD})
    return client


def second(client: Client, code: str) -> Answer:
    return client.post(reverse("sign-in-second"), {"code": code})


def is_in(client: Client) -> bool:
    return client.get(reverse("frame-list")).status_code == 200


def verbs() -> list[str]:
    return list(AuditEvent.objects.order_by("pk").values_list("verb", flat=True))


def test_the_password_alone_signs_nobody_in_who_has_a_second_factor() -> None:
    device = with_app("dora")
    client = password_given()
    assert not is_in(client)
    assert "sign-in.done" not in verbs()
    answer = second(client, code_of(device))
    assert answer["Location"] == "/frames/"
    assert is_in(client)
    assert verbs().count("sign-in.done") == 1


def test_who_has_none_is_asked_for_none() -> None:
    with_app("ravi")
    assert is_in(password_given("dora"))


def test_the_code_of_somebody_else_is_not_ones_own_and_each_works_once() -> None:
    device, other = with_app("dora"), with_app("ravi")
    assert second(password_given(), code_of(other)).status_code == 200
    AuthenticatorApp.objects.update(throttling_failure_count=0, throttling_failure_timestamp=None)
    code = code_of(device)
    assert second(password_given(), code).status_code == 302
    assert second(password_given(), code).status_code == 200


def test_wrong_codes_lock_as_wrong_passwords_do_and_together_with_them() -> None:
    device = with_app("dora")
    Client().post(reverse("sign-in"), {"username": "dora", "password": "wrong"})
    client = password_given()
    answers = [second(client, "000000").status_code for _ in range(4)]
    assert answers == [200, 200, 200, 429]
    AuthenticatorApp.objects.update(throttling_failure_count=0, throttling_failure_timestamp=None)
    assert second(client, code_of(device)).status_code == 429
    assert not is_in(client)
    assert verbs() == ["sign-in.failed"] * 4 + ["sign-in.locked"]


@pytest.mark.parametrize(("seconds", "asked"), [(half_signed_in.SECONDS - 5, 200), (half_signed_in.SECONDS + 5, 302)])
def test_the_right_password_holds_for_some_minutes(seconds: int, asked: int) -> None:
    with_app("dora")
    client = password_given()
    session = client.session
    session[half_signed_in.KEY] = session[half_signed_in.KEY] | {"at": time.time() - seconds}
    session.save()
    assert client.get(reverse("sign-in-second")).status_code == asked


@pytest.mark.parametrize("changes", [{"is_active": False}, {"password": "x"}])
def test_half_a_sign_in_ends_with_the_password_and_the_sign_in_it_belongs_to(changes: dict[str, Any]) -> None:
    device = with_app("dora")
    client = password_given()
    StaffUser.objects.filter(username="dora").update(**changes)
    assert second(client, code_of(device))["Location"] == reverse("sign-in")


def test_a_recovery_code_signs_in_once_however_it_is_typed() -> None:
    with_app("dora")
    first, *_ = new_recovery_codes(actor=person("dora"))
    theirs = new_recovery_codes(actor=person("ravi"))[0]
    assert second(password_given(), theirs).status_code == 200
    RecoverySet.objects.filter(user=person("dora")).update(
        throttling_failure_count=0, throttling_failure_timestamp=None
    )
    assert second(password_given(), f" {first.upper().replace('-', ' ')} ").status_code == 302
    assert second(password_given(), first).status_code == 200
    assert RecoveryCode.objects.filter(device__user__username="dora").count() == 9
    assert RecoveryCode.objects.filter(device__user__username="ravi").count() == 10
    [used] = AuditEvent.objects.filter(verb="second-factor.recovery")
    assert used.changes == {"codes left": ["10", "9"]}


def test_an_app_is_set_up_with_its_first_code_and_recovery_codes_come_with_it() -> None:
    with_app("ravi")
    client = password_given()
    page = client.get(reverse("second-factor-app"))
    device = AuthenticatorApp.objects.get(user=person("dora"))
    assert page.context["picture"].startswith("data:image/svg+xml")
    assert not is_asked_for("dora")
    wrong = client.post(reverse("second-factor-app"), {"code": "000000"})
    assert b"not the code of this app now" in wrong.content
    AuthenticatorApp.objects.update(throttling_failure_count=0, throttling_failure_timestamp=None)
    codes = client.post(reverse("second-factor-app"), {"code": code_of(device)}).context["codes"]
    assert len(set(codes)) == 10
    assert is_asked_for("dora")
    assert "no-store" in client.get(reverse("second-factor"))["Cache-Control"]
    assert verbs()[-2:] == ["second-factor.add", "second-factor.codes"]
    assert second(password_given(), codes[3]).status_code == 302


def is_asked_for(username: str) -> bool:
    return not is_in(password_given(username))


def test_an_open_desk_changes_no_second_factor_without_the_password() -> None:
    with_app("dora")
    client = signed_in("dora")  # some time ago
    for name in ("second-factor-remove", "recovery-codes", "passkey-begin", "passkey-add"):
        assert client.post(reverse(name))["Location"] == reverse("second-factor")
    assert client.get(reverse("second-factor-app"))["Location"] == reverse("second-factor")
    assert b"That is not your password" in client.post(reverse("second-factor"), {"password": "wrong"}).content
    assert client.post(reverse("second-factor"), {"password": PASSWORD}).status_code == 302
    client.post(reverse("second-factor-remove"))
    assert not is_asked_for("dora")


def test_a_manager_takes_a_lost_factor_off_a_colleague_and_nobody_else() -> None:
    with_app("dora")
    with_app("ravi")
    new_recovery_codes(actor=person("dora"))
    signed_in("ines").post(reverse("staff-second-factor-off", args=["dora"]))
    assert (is_asked_for("dora"), is_asked_for("ravi")) == (False, True)
    assert not RecoveryCode.objects.exists()
    [event] = AuditEvent.objects.filter(verb="second-factor.take-off")
    assert (event.actor, event.changes["user"]) == (person("ines"), [None, "dora"])


def test_the_command_is_the_way_back_when_no_manager_is_left() -> None:
    with_app("ines")
    said = io.StringIO()
    call_command("take_off_second_factor", "ines", stdout=said)
    assert "Ines Holloway had an authenticator app" in said.getvalue()
    assert not is_asked_for("ines")
    with pytest.raises(CommandError, match="Nobody signs in as nobody"):
        call_command("take_off_second_factor", "nobody")


def demanded() -> None:
    Practice.objects.filter(pk=Practice.current().pk).update(managers_need_second_factor=True)


def test_where_the_practice_demands_it_a_manager_sets_one_up_before_anything_else() -> None:
    demanded()
    client = password_given("ines")
    for name in ("home", "patient-list", "staff-list", "account-page"):
        assert client.get(reverse(name))["Location"] == reverse("second-factor")
    page = client.get(reverse("second-factor")).content.decode()
    assert "This practice asks managers for one" in page
    assert 'aria-label="Main"' not in page
    client.get(reverse("second-factor-app"))
    client.post(reverse("second-factor-app"), {"code": code_of(AuthenticatorApp.objects.get())})
    assert client.get(reverse("patient-list")).status_code == 200


def test_nobody_but_managers_is_made_to_have_one_and_where_it_is_not_demanded_nobody_is() -> None:
    assert is_in(password_given("ines"))
    demanded()
    assert is_in(password_given("dora"))
    assert is_in(password_given("ravi"))


@pytest.mark.browser
def test_a_passkey_is_made_and_asked_for_at_the_next_sign_in(page: Page, live_server: Any) -> None:
    """By the name of this machine: to a number no passkey can belong."""
    at_name = live_server.url.replace("127.0.0.1", "localhost")
    driver = page.context.new_cdp_session(page)
    driver.send("WebAuthn.enable")
    ours = {"protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True}
    driver.send(
        "WebAuthn.addVirtualAuthenticator",
        {"options": {**ours, "isUserVerified": True, "automaticPresenceSimulation": True}},
    )
    person("dora")

    def password() -> None:
        page.goto(f"{at_name}/sign-in/")
        page.locator("[name=username]").fill("dora")
        page.locator("[name=password]").fill(PASSWORD)
        page.keyboard.press("Enter")

    password()
    expect(page.locator("h1")).to_contain_text("Good day")
    page.goto(f"{at_name}/account/second-factor/")
    no_faults(page)
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.locator("[data-passkey] [data-said]")).to_have_text("Give the passkey a name first.")
    page.get_by_label("Name of a new passkey").fill("My telephone")
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.locator("h1")).to_have_text("Your recovery codes")
    no_faults(page)
    assert WebAuthnCredential.objects.get().name == "My telephone"
    page.context.clear_cookies()
    password()
    expect(page.locator("h1")).to_have_text("Second step")
    no_faults(page)
    page.get_by_role("button", name="Use a passkey").press("Enter")
    expect(page.locator("h1")).to_contain_text("Good day")
    assert re.search("My telephone", str(AuditEvent.objects.get(verb="second-factor.add").changes))
    WebAuthnCredential.objects.update(public_key=b"\x00")  # somebody else's
    page.context.clear_cookies()
    password()
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.locator("[data-passkey] [data-said]")).to_contain_text("not recognised")
    assert AuditEvent.objects.filter(verb="sign-in.failed").count() == 1
