"""Every address is requested in every role: what the table allows is let in, everything else is refused.

No records are needed: when the id does not exist, anybody who is allowed in gets 404 (or a form, or 405), anybody who
is not gets 403, and a stranger is sent to the sign-in.
"""

from __future__ import annotations

import uuid
from typing import Any

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
@pytest.mark.parametrize("route", PAGE_ROUTES, ids=lambda route: route.name)
def test_a_page_lets_in_whom_the_table_names_and_nobody_else(route: Any) -> None:
    address, allowed = _address(route), PAGES[route.name]
    stranger = Client().get(address)
    if allowed == "A":
        assert stranger.status_code in {404 if route.name in NOT_FOR_PEOPLE else 200, 302, 405}
        return
    assert stranger.status_code == 302
    assert stranger.headers["Location"].startswith(reverse("sign-in"))
    for letter, name in WHO.items():
        for method in ("get", "post"):
            answer = getattr(signed_in(name), method)(address)
            assert (answer.status_code != 403) == (letter in allowed), (letter, method, answer.status_code)


@pytest.mark.either_database
@pytest.mark.django_db
@pytest.mark.parametrize("call", API, ids=lambda call: f"{call[1]} {call[0]}")
def test_the_api_lets_in_whom_the_table_names_and_nobody_else(call: Any) -> None:
    name, method = call
    address = _address(API_ROUTES[name])
    assert getattr(APIClient(), method)(address).status_code == 401
    for letter, username in WHO.items():
        client = APIClient()
        client.force_authenticate(person(username))
        answer = getattr(client, method)(address, data=None if method == "get" else {})
        assert (answer.status_code != 403) == (letter in API[call]), (letter, answer.status_code)
