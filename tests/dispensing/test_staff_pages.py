"""Staff: taken on, given a role, let go; passwords and tokens shown once; the last manager never lost."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from knox.auth import TokenAuthentication
from knox.models import AuthToken
from pytest_django import DjangoAssertNumQueries
from rest_framework.test import APIRequestFactory

from dispensing.models import AuditEvent, StaffUser, TokenDetail
from dispensing.services.tokens import MOST_TOKENS, TokenRefused, issue_token, revoke_all_tokens
from tests.known import there
from tests.people import PASSWORD, Answer, person, signed_in

pytestmark = pytest.mark.django_db

NEW = {"username": "oona", "first_name": "Oona", "last_name": "Vantongeren", "role": "dispenser", "registration": "D-1"}


def secret_in(response: Answer) -> Any:
    return there(re.search(r'id="secret">([^<]+)<', response.content.decode()))[1]


def page_of(username: str) -> str:
    return reverse("staff-page", args=[username])


def save(member: StaffUser, by: Any = "ines", **changes: Any) -> Answer:
    shown = {"first_name": member.first_name, "last_name": member.last_name, "role": member.role, "is_active": "on"}
    shown["version"] = str(StaffUser.objects.get(pk=member.pk).version)
    values = {name: value for name, value in (shown | changes).items() if value is not None}
    return signed_in(by).post(page_of(member.username), values)


def test_a_new_member_of_staff_signs_in_with_the_password_shown_once() -> None:
    response = signed_in("ines").post(reverse("staff-new"), NEW)
    password = secret_in(response)
    assert "no-store" in response["Cache-Control"]
    signing_in = Client().post(reverse("sign-in"), {"username": "oona", "password": password})
    assert signing_in["Location"] == reverse("home")
    assert StaffUser.objects.get(username="oona").role == "dispenser"
    later = signed_in("ines").get(page_of("oona")).content.decode()
    assert password not in later
    assert password not in str(list(AuditEvent.objects.values()))


@pytest.mark.parametrize("name", ["dora", "DORA", " dora "])
def test_a_sign_in_name_is_given_once_whatever_its_capitals(name: str) -> None:
    person("dora")
    form = signed_in("ines").post(reverse("staff-new"), NEW | {"username": name}).context["form"]
    assert "is taken" in form.errors["username"][0]


def test_nobody_is_taken_on_as_a_lab_through_the_staff_pages() -> None:
    form = signed_in("ines").post(reverse("staff-new"), NEW | {"role": "lab"}).context["form"]
    assert "role" in form.errors
    lab = person("lena")
    assert signed_in("ines").get(page_of(lab.username)).status_code == 404
    assert "lena" not in signed_in("ines").get(reverse("staff-list")).content.decode()


def test_a_role_is_changed_and_the_trail_tells_old_and_new() -> None:
    save(person("dora"), role="dispenser")
    assert person("dora").role == "dispenser"
    event = AuditEvent.objects.get()
    assert (event.verb, event.changes["role"]) == ("staff.change", ["front_desk", "dispenser"])


@pytest.mark.parametrize(("changes", "field"), [({"role": "dispenser"}, "role"), ({"is_active": None}, "is_active")])
def test_the_last_manager_who_can_sign_in_stays_a_manager(changes: dict[str, Any], field: str) -> None:
    person("olga", role="manager", is_active=False)
    ines = person("ines")
    form = save(ines, **changes).context["form"]
    assert "only manager who can sign in" in form.errors[field][0]
    ines.refresh_from_db()
    assert (ines.role, ines.is_active) == ("manager", True)


def test_one_of_two_managers_may_go() -> None:
    other = person("olga", first_name="Olga", last_name="Quill", role="manager")
    assert save(other, is_active=None).status_code == 302
    other.refresh_from_db()
    assert not other.is_active


def test_who_leaves_is_signed_out_at_once_and_loses_every_token() -> None:
    desk, ravi = signed_in("ravi"), person("ravi")
    issue_token(actor=person("ines"), user=ravi)
    assert desk.get(reverse("frame-list")).status_code == 200
    save(ravi, is_active=None)
    assert desk.get(reverse("frame-list")).status_code == 302
    assert not AuthToken.objects.filter(user=ravi).exists()
    ravi.refresh_from_db()
    with pytest.raises(TokenRefused, match="cannot sign in at present"):
        issue_token(actor=person("ines"), user=ravi)


def test_a_new_password_ends_the_old_one_and_its_sessions() -> None:
    desk = signed_in("dora")
    password = secret_in(signed_in("ines").post(reverse("staff-password-reset", args=["dora"])))
    assert not person("dora").check_password(PASSWORD)
    assert person("dora").check_password(password)
    assert desk.get(reverse("frame-list")).status_code == 302


def choose(client: Client, old: Any, new: Any) -> Any:
    return client.post(reverse("password-change"), {"old_password": old, "new_password1": new, "new_password2": new})


def test_who_was_given_a_password_chooses_another_before_anything_else() -> None:
    given = secret_in(signed_in("ines").post(reverse("staff-new"), NEW))
    client = Client()
    client.post(reverse("sign-in"), {"username": "oona", "password": given})
    for name in ("home", "patient-list", "api-page"):
        assert client.get(reverse(name))["Location"] == reverse("password-change")
    assert client.post(reverse("patient-find"), {"text": "Quill"})["Location"] == reverse("password-change")
    page = client.get(reverse("password-change")).content.decode()
    assert "Choose a password of your own" in page
    assert 'aria-label="Main"' not in page
    assert "Choose another" in choose(client, given, given).content.decode()
    assert choose(client, given, "a-word-nobody-else-knows").url == reverse("home")
    assert client.get(reverse("patient-list")).status_code == 200


def test_a_password_given_anew_is_temporary_again() -> None:
    client = signed_in("dora")
    choose(client, PASSWORD, "a-word-nobody-else-knows")
    assert client.get(reverse("home")).status_code == 200
    given = secret_in(signed_in("ines").post(reverse("staff-password-reset", args=["dora"])))
    client = Client()
    client.post(reverse("sign-in"), {"username": "dora", "password": given})
    assert client.get(reverse("home"))["Location"] == reverse("password-change")


def test_a_new_password_opens_a_locked_sign_in() -> None:
    person("dora")
    client = Client()
    tries = [client.post(reverse("sign-in"), {"username": "dora", "password": "wrong"}) for _ in range(6)]
    assert tries[-1].status_code == 429
    given = secret_in(signed_in("ines").post(reverse("staff-password-reset", args=["dora"])))
    assert client.post(reverse("sign-in"), {"username": "dora", "password": given}).status_code == 302


def test_temporary_passwords_are_long_and_never_the_same() -> None:
    client = signed_in("ines")
    person("dora")
    made = {secret_in(client.post(reverse("staff-password-reset", args=["dora"]))) for _ in range(20)}
    assert len(made) == 20
    assert all(re.fullmatch(r"([a-z2-9]{4}-){3}[a-z2-9]{4}", password) for password in made)


def user_of(token: str) -> Any:
    request = APIRequestFactory().get("/", headers={"Authorization": f"Bearer {token}"})
    return TokenAuthentication().authenticate(request)[0]


def test_a_token_of_somebody_else_is_not_taken_back_through_the_wrong_page() -> None:
    issue_token(actor=person("ines"), user=person("ravi"))
    person("dora")
    signed_in("ines").post(reverse("token-revoke", args=["dora"]), {"token": TokenDetail.objects.get().public_id})
    assert AuthToken.objects.count() == 1


def test_a_labs_user_gets_tokens_too_and_the_trail_says_so() -> None:
    token = issue_token(actor=person("ines"), user=person("lena"))
    assert user_of(token) == person("lena")
    assert AuditEvent.objects.get().changes["lab user"] == [None, "lena"]
    assert revoke_all_tokens(actor=person("ines"), user=person("lena")) == 1


@pytest.mark.parametrize("name", ["nobody", "%00", "a b", "🕶"])
def test_a_sign_in_name_nobody_has_is_not_found(name: str) -> None:
    assert signed_in("ines").get(f"/staff/of/{name}/").status_code == 404


def test_nobody_collects_tokens_without_end() -> None:
    ines, ravi = person("ines"), person("ravi")
    for _ in range(MOST_TOKENS):
        issue_token(actor=ines, user=ravi)
    asked = {"name": "Till", "scope": "read", "days": "30"}
    response = signed_in("ravi").post(reverse("account-token-new"), asked)
    assert "Take back one that is not used" in response.content.decode()
    assert AuthToken.objects.count() == MOST_TOKENS


@pytest.mark.parametrize("username", ["dora", "ravi"])
def test_only_managers_come_near_staff_settings_and_the_trail(username: str) -> None:
    client, other = signed_in(username), person("ines")
    for name, args in [
        ("staff-list", []),
        ("staff-new", []),
        ("staff-page", [other.username]),
        ("practice-settings", []),
        ("audit-trail", []),
    ]:
        assert client.get(reverse(name, args=args)).status_code == 403
    for name in ("staff-password-reset", "token-revoke"):
        assert client.post(reverse(name, args=[other.username])).status_code == 403
    assert person("ines").check_password(PASSWORD)


@pytest.mark.parametrize("name", ["staff-password-reset", "token-revoke"])
def test_what_cannot_be_taken_back_is_never_done_by_following_a_link(name: str) -> None:
    person("dora")
    assert signed_in("ines").get(reverse(name, args=["dora"])).status_code == 405


def test_the_staff_list_needs_as_many_queries_for_twenty_as_for_one(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    client = signed_in("ines")
    client.get(reverse("staff-list"))
    with django_assert_num_queries(5):
        client.get(reverse("staff-list"))
    for number in range(20):
        issue_token(actor=person("ines"), user=person(f"user{number}", role="dispenser"))
    with django_assert_num_queries(5):
        client.get(reverse("staff-list"))
