"""Every address is requested in every role: what the table allows is let in, everything else is refused.

No records are needed: when the id does not exist, anybody who is allowed in gets 404 (or a form, or 405), anybody who
is not gets 403, and a stranger is sent to the sign-in.
"""

from __future__ import annotations

import uuid

import pytest
from django.test import Client
from django.urls import reverse
from rest_framework.test import APIClient

from tests.access.matrix import API, PAGES
from tests.access.routes import Route, routes
from tests.people import person, signed_in

WHO = {"F": "dora", "D": "ravi", "M": "ines", "L": "lena"}
# Whether somebody may ask for these turns on their address, not on who they are (`tests/deployment/test_watching.py`).
NOT_FOR_PEOPLE = {"metrics"}
NOTHING = uuid.UUID("00000000-0000-4000-8000-000000000000")


def _address(route: Route) -> str:
    kinds = {part.split(":")[1].rstrip(">/"): part.split(":")[0] for part in route.path.split("<")[1:]}
    return reverse(route.name, kwargs={name.split(">")[0]: NOTHING for name in kinds})


PAGE_ROUTES = [route for route in routes() if not route.is_api]
API_ROUTES = {route.name: route for route in routes() if route.is_api}


def test_every_page_has_a_row_and_every_row_a_page() -> None:
    assert {route.name for route in PAGE_ROUTES} == set(PAGES)


def test_every_call_of_the_api_has_a_row_and_every_row_a_call() -> None:
    calls = set()
    for name, route in API_ROUTES.items():
        actions = getattr(route.view, "actions", None)
        methods = actions or {m for m in ("get", "post", "put", "patch", "delete") if hasattr(route.view.cls, m)}
        allowed = getattr(route.view.cls, "http_method_names", ())
        calls |= {(name, method) for method in methods if method in allowed and method != "head"}
    assert calls == set(API)


@pytest.mark.either_database
@pytest.mark.django_db
def test_a_page_that_is_not_for_everybody_sends_a_stranger_to_the_sign_in() -> None:
    told = {route.name: Client().get(_address(route)) for route in PAGE_ROUTES}
    sent_away = {name for name, answer in told.items() if PAGES[name] != "A"}
    wrong = {
        name: answer.status_code
        for name, answer in told.items()
        if not (
            answer.status_code == 302 and answer.headers["Location"].startswith(reverse("sign-in"))
            if name in sent_away
            else answer.status_code in {404 if name in NOT_FOR_PEOPLE else 200, 302, 405}
        )
    }
    assert not wrong


@pytest.mark.either_database
@pytest.mark.django_db
@pytest.mark.parametrize("letter", WHO)
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_page_lets_in_whom_the_table_names_and_nobody_else(letter: str, method: str) -> None:
    client = signed_in(WHO[letter])
    wrong = {}
    for route in PAGE_ROUTES:
        if PAGES[route.name] == "A":
            continue
        status = getattr(client, method)(_address(route)).status_code
        if (status != 403) != (letter in PAGES[route.name]):
            wrong[route.name] = status
    assert not wrong
    assert client.get(reverse("account-page")).status_code == (403 if letter == "L" else 200), "still signed in"


@pytest.mark.either_database
@pytest.mark.django_db
def test_a_call_of_the_api_answers_no_stranger() -> None:
    wrong = {}
    for name, method in API:
        status = getattr(APIClient(), method)(_address(API_ROUTES[name])).status_code
        if status != 401:
            wrong[name, method] = status
    assert not wrong


@pytest.mark.either_database
@pytest.mark.django_db
@pytest.mark.parametrize("letter", WHO)
def test_the_api_lets_in_whom_the_table_names_and_nobody_else(letter: str) -> None:
    client = APIClient()
    client.force_authenticate(person(WHO[letter]))
    wrong = {}
    for (name, method), allowed in API.items():
        status = getattr(client, method)(_address(API_ROUTES[name]), data=None if method == "get" else {}).status_code
        if (status != 403) != (letter in allowed):
            wrong[name, method] = status
    assert not wrong
