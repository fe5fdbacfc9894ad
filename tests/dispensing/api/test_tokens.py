"""Tokens: named, with a scope and an end, made by their owner alone, ended by a manager, named by whatever they did."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from knox.models import AuthToken
from rest_framework.test import APIClient

from dispensing.models import AuditEvent, Look, Practice, TokenDetail
from dispensing.models.tokens import Scope
from dispensing.services.tokens import issue_token
from tests.access.matrix import API
from tests.access.test_matrix import API_ROUTES, _address
from tests.builders import a_patient, a_prescription
from tests.known import there
from tests.people import PASSWORD, person, signed_in

pytestmark = pytest.mark.django_db

ASKED = {"name": "Till", "scope": "read", "days": "30"}


def caller(token: str) -> APIClient:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    return client


def token_of(username: str, **asked: Any) -> str:
    return issue_token(actor=person(username), user=person(username), **asked)


def test_a_token_is_made_by_its_owner_shown_once_and_works_until_it_is_ended() -> None:
    client = signed_in("ravi")
    answer = client.post(reverse("account-token-new"), ASKED)
    token = there(re.search(r'id="secret">([^<]+)<', answer.content.decode()))[1]
    assert "no-store" in answer["Cache-Control"]
    assert caller(token).get(reverse("api-patient-list")).status_code == 200
    page = client.get(reverse("account-page")).content.decode()
    assert "Till" in page
    assert token not in page + str(list(AuditEvent.objects.values()))
    client.post(reverse("account-token-end"), {"token": TokenDetail.objects.get().public_id})
    assert caller(token).get(reverse("api-patient-list")).status_code == 401
    told = AuditEvent.objects.filter(verb__startswith="token.").values_list("verb", "changes__token__1")
    until = (timezone.localtime() + timedelta(days=30)).date().isoformat()
    assert list(told) == [(verb, f"Till (read only, until {until})") for verb in ("token.revoke", "token.issue")]


def test_nobody_ends_a_token_of_somebody_else_from_their_own_page() -> None:
    token_of("ravi")
    signed_in("dora").post(reverse("account-token-end"), {"token": TokenDetail.objects.get().public_id})
    assert AuthToken.objects.count() == 1


@pytest.mark.parametrize(("days", "taken"), [("365", True), ("366", False), ("0", False), ("1", True)])
def test_a_token_lasts_no_longer_than_the_practice_says(days: str, taken: bool) -> None:
    signed_in("ravi").post(reverse("account-token-new"), ASKED | {"days": days})
    assert AuthToken.objects.exists() == taken


def test_without_a_choice_a_token_lasts_as_long_as_the_practice_says() -> None:
    Practice.objects.filter(pk=Practice.current().pk).update(token_days=10)
    token_of("ravi")
    assert there(AuthToken.objects.get().expiry).date() == (timezone.now() + timedelta(days=10)).date()


def test_a_token_whose_day_has_come_is_refused_and_the_trail_says_so() -> None:
    token, other = token_of("ravi"), token_of("ravi", name="Other")
    ended = there(TokenDetail.objects.exclude(name="Other").first()).token
    AuthToken.objects.filter(pk=ended.pk).update(expiry=timezone.now() - timedelta(seconds=1))
    assert caller(token).get(reverse("api-patient-list")).status_code == 401
    assert caller(other).get(reverse("api-patient-list")).status_code == 200
    assert AuditEvent.objects.filter(verb="token.ended", actor=person("ravi")).count() == 1


def test_whatever_a_program_does_or_reads_is_noted_under_its_token() -> None:
    patient = a_patient()
    client = caller(token_of("ravi", name="Till"))
    named = {"family_name": "Oakes", "given_names": "Ida", "born_on": "1980-02-03"}
    assert client.post(reverse("api-patient-list"), named).status_code == 201
    client.get(reverse("api-patient-detail", args=[patient.public_id]))
    done = AuditEvent.objects.exclude(verb__startswith="token.").order_by("pk").values_list("verb", "token", "address")
    assert list(done) == [("patient.register", "Till", "127.0.0.1"), ("patient.look", "Till", "127.0.0.1")]
    assert Look.objects.get().token == "Till"
    signed_in("ravi").get(reverse("patient-page", args=[patient.public_id]))
    assert list(AuditEvent.objects.filter(verb="patient.look").order_by("pk").values_list("token", flat=True)) == [
        "Till",
        None,
    ]


def test_what_a_program_is_told_it_still_has_is_a_look_as_well() -> None:
    client, prescription = caller(token_of("ravi")), a_prescription(a_patient())
    address = reverse("api-prescription-detail", args=[prescription.public_id])
    tag = client.get(address)["ETag"]
    assert client.get(address, HTTP_IF_NONE_MATCH=tag).status_code == 304
    assert Look.objects.get().count == 2


def test_when_a_token_was_last_used_is_known_to_the_minute() -> None:
    client = caller(token_of("ravi"))
    client.get(reverse("api-frame-list"))
    first = there(TokenDetail.objects.get().last_used_at)
    client.get(reverse("api-frame-list"))
    assert TokenDetail.objects.get().last_used_at == first
    TokenDetail.objects.update(last_used_at=first - timedelta(minutes=2))
    client.get(reverse("api-frame-list"))
    assert there(TokenDetail.objects.get().last_used_at) >= first


# What a token that only reads may call besides every GET: posts that store nothing.
READING_POSTS = {"api-check", "api-compare", "api-verify", "api-compare-frames", "api-measure", "api-patient-find"}


def test_a_token_that_only_reads_changes_nothing_over_any_call() -> None:
    tokens = {letter: token_of(name, scope=Scope.READ) for letter, name in (("M", "ines"), ("L", "lena"))}
    for name, method in API:
        letter = "L" if API[name, method] == "L" else "M"
        answer = getattr(caller(tokens[letter]), method)(_address(API_ROUTES[name]))
        told = answer.json().get("detail") if answer.status_code == 403 else ""
        by_signature = name == "api-lab-callback"
        only_reads = method == "get" or name in READING_POSTS or by_signature
        assert (told == "This token may only read.") == (not only_reads), (name, method, answer.status_code)


def test_a_manager_sees_that_there_are_tokens_and_ends_them_but_makes_none() -> None:
    token = token_of("ravi", name="Till")
    manager = signed_in("ines")
    page = manager.get(reverse("staff-page", args=["ravi"])).content.decode()
    assert "Till" in page
    assert "never used" in page
    assert token[:8] not in page
    assert "Make a token" not in page
    manager.post(reverse("token-revoke", args=["ravi"]), {"token": TokenDetail.objects.get().public_id})
    assert not AuthToken.objects.exists()
    assert AuditEvent.objects.filter(verb="token.revoke", actor=person("ines")).count() == 1


NEW = {"old_password": PASSWORD, "new_password1": "a-longer-word-than-before"}
NEW["new_password2"] = NEW["new_password1"]


@pytest.mark.parametrize("ticked", [True, False])
def test_with_a_new_password_ones_tokens_end_if_one_wants(ticked: bool) -> None:
    token_of("dora")
    token_of("ravi")
    client = signed_in("dora")
    assert client.get(reverse("password-change")).context["form"]["end_tokens"].initial is True
    client.post(reverse("password-change"), NEW | ({"end_tokens": "on"} if ticked else {}))
    left = set(AuthToken.objects.values_list("user__username", flat=True))
    assert left == ({"ravi"} if ticked else {"dora", "ravi"})


def test_who_has_no_tokens_is_not_asked() -> None:
    assert "end_tokens" not in signed_in("dora").get(reverse("password-change")).context["form"].fields


def test_a_password_given_anew_ends_every_token_of_its_owner() -> None:
    token_of("dora")
    token_of("ravi")
    signed_in("ines").post(reverse("staff-password-reset", args=["dora"]))
    assert set(AuthToken.objects.values_list("user__username", flat=True)) == {"ravi"}
