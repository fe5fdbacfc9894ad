"""Every wrong request is answered by a problem (RFC 9457) with the right status, and nothing is guessed."""

from __future__ import annotations

import json
import uuid
from http import HTTPStatus
from typing import Any

import pytest
from django.urls import reverse
from pytest_django import Settings
from rest_framework.test import APIClient

from dispensing.models import Patient
from tests.dispensing.api.callers import caller, faults

pytestmark = pytest.mark.django_db

NOBODY = {"public_id": uuid.UUID("00000000-0000-4000-8000-000000000000")}
PATIENT = {"family_name": "Ashworth", "given_names": "Ada", "born_on": "1958-04-02"}


def problem(answer: Any) -> dict[str, Any]:
    body = json.loads(answer.content)
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert (body["type"], body["title"]) == ("about:blank", HTTPStatus(answer.status_code).phrase)
    assert body["status"] == answer.status_code
    return dict(body)


@pytest.mark.parametrize(("method", "name"), [("delete", "api-patient-list"), ("put", "api-order-list")])
@pytest.mark.parametrize("who", ["dora", "ravi", "ines", "lena"])
def test_a_method_that_an_address_does_not_have_is_named_so_to_every_role(who: str, method: str, name: str) -> None:
    answer = getattr(caller(who), method)(reverse(name))
    assert answer.status_code == 405
    assert problem(answer)["detail"] == f'Method "{method.upper()}" not allowed.'


def test_a_stranger_is_told_nothing_about_methods() -> None:
    assert problem(APIClient().delete(reverse("api-patient-list")))["status"] == 401


@pytest.mark.parametrize(
    ("accept", "status"), [("text/html", 406), ("application/xml", 406), ("application/*", 200), ("*/*", 200)]
)
def test_an_answer_in_another_form_is_refused(accept: str, status: int) -> None:
    assert caller().get(reverse("api-patient-list"), HTTP_ACCEPT=accept).status_code == status


def test_a_body_of_another_form_is_refused_by_its_name() -> None:
    answer = caller().post(reverse("api-check"), "<order/>", content_type="text/xml")
    assert answer.status_code == 415
    assert "text/xml" in problem(answer)["detail"]


@pytest.mark.parametrize("address", ["/api/nothing/", "/api/patients/x/"])
def test_an_address_that_is_none_is_a_problem_too(address: str) -> None:
    assert problem(caller().get(address))["status"] == 404


def test_a_record_that_is_not_there_is_not_found() -> None:
    assert problem(caller().get(reverse("api-patient-detail", kwargs=NOBODY)))["status"] == 404


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b'{"family_name": "A", "family_name": "B"}', 'the key "family_name" stands twice'),
        (b'{"a": {"b": 1, "b": 2}}', 'the key "b" stands twice'),
        (b'{"family_name": 1e400}', "the number 1e400 is too large"),
        (b'{"family_name": NaN}', "NaN is not a JSON number"),
        (b'{"family_name": "\\ud800"}', "half a character"),
        (b"\xff", "not UTF-8"),
        (b"[" * 50_000, "nested too deeply"),
    ],
    ids=lambda part: repr(part[:24]),
)
def test_json_is_read_as_strictly_as_in_files(body: bytes, said: str) -> None:
    answer = caller().post(reverse("api-patient-list"), body, content_type="application/json")
    assert answer.status_code == 400
    assert said in problem(answer)["detail"]
    assert not Patient.objects.exists()


def test_a_byte_order_mark_is_no_fault() -> None:
    body = b"\xef\xbb\xbf" + json.dumps(PATIENT).encode()
    assert caller().post(reverse("api-patient-list"), body, content_type="application/json").status_code == 201


def test_a_body_larger_than_any_document_is_not_read(settings: Settings) -> None:
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    fits, too_large = b'"%s"' % (b"x" * 998), b'"%s"' % (b"x" * 999)
    assert caller().post(reverse("api-measure"), fits, content_type="application/json").status_code == 400
    answer = caller().post(reverse("api-measure"), too_large, content_type="application/json")
    assert problem(answer)["status"] == 413


@pytest.mark.parametrize("noun", ["patient", "prescription", "frame", "fitting", "order"])
def test_a_list_that_cannot_be_narrowed_as_asked_is_not_taken_for_the_whole(noun: str) -> None:
    answer = caller().get(reverse(f"api-{noun}-list"), {"status": "draft", "format": "json"})
    assert set(faults(answer)) == {"status", "format"}


@pytest.mark.parametrize(
    ("name", "body"),
    [
        ("api-patient-find", {"text": "ash"}),
        ("api-check", {"order": {}, "catalogue": {}}),
        ("api-fitting-list", {"measurements": []}),
    ],
)
def test_a_key_that_says_nothing_is_a_fault(name: str, body: dict[str, Any]) -> None:
    assert faults(caller().post(reverse(name), body | {"txet": 1}))["txet"] == "Unknown key."


def test_a_post_to_an_address_without_its_slash_stays_a_post() -> None:
    answer = caller().post("/api/patients", PATIENT)
    assert (answer.status_code, answer.headers["Location"]) == (308, "/api/patients/")
    followed = caller().post("/api/patients", PATIENT, follow=True)
    assert followed.status_code == 201
