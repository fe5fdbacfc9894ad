"""Who calls the API in the tests, and what its refusals look like."""

from __future__ import annotations

from typing import Any

from rest_framework.test import APIClient

from dispensing.services.tokens import issue_token
from tests.people import person


def caller(username: str = "ravi") -> APIClient:
    """A program that holds this person's token."""
    client = APIClient()
    token = issue_token(actor=person("ines"), user=person(username))
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    return client


def based_on(version: int) -> dict[str, str]:
    """The header that names the version a change is based on."""
    return {"If-Match": f'"{version}"'}


def faults(answer: Any, status: int = 400) -> dict[str, str]:
    """The faults by field; the answer must be a problem of this status."""
    body: dict[str, Any] = answer.json()
    assert (answer.status_code, body["status"]) == (status, status), body
    assert answer.headers["Content-Type"] == "application/problem+json"
    return {fault["field"]: fault["message"] for fault in body.get("errors", [])}
