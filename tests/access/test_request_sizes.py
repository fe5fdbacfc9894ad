"""A body that is too large for its sender is refused by its stated length; nothing of it is read."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pytest_django import Settings

from dispensing.request_size import MOST_BYTES_OF_A_STRANGER
from tests.builders import a_patient
from tests.people import Answer, signed_in

pytestmark = pytest.mark.django_db


def stated(path: str, size: int, kind: str) -> Answer:
    """The answer to a body said to have this size. It has a single byte, and reading on would end the test."""
    return Client().generic("POST", path, b"x", kind, CONTENT_LENGTH=str(size))


def test_a_stranger_s_large_body_is_not_read() -> None:
    answer = stated("/sign-in/", MOST_BYTES_OF_A_STRANGER + 1, "multipart/form-data; boundary=x")
    assert answer.status_code == 413
    assert b"larger than the 64 kB that can be taken here" in answer.content


def test_a_stranger_s_large_document_is_a_problem_in_words() -> None:
    answer = stated(reverse("api-measure"), MOST_BYTES_OF_A_STRANGER + 1, "application/json")
    assert answer.status_code == 413
    assert answer.json()["detail"].startswith("This is larger than the 64 kB")


def test_a_stranger_s_form_of_the_largest_size_is_read() -> None:
    body = b"username=dora&password=" + b"x" * 500
    padded = body + b"y" * (MOST_BYTES_OF_A_STRANGER - len(body))
    answer = Client().post("/sign-in/", padded, content_type="application/x-www-form-urlencoded")
    assert answer.status_code == 200


def test_staff_may_send_a_scan_but_nothing_without_end(settings: Settings) -> None:
    settings.MOST_BYTES_OF_AN_UPLOAD = 2 * MOST_BYTES_OF_A_STRANGER
    client, patient = signed_in("dora"), a_patient()
    address = reverse("prescription-new", args=[patient.public_id])

    def sent(size: int) -> int:
        scan = SimpleUploadedFile("scan.pdf", b"x" * size, "application/pdf")
        return client.post(address, {"scan": scan}).status_code

    assert sent(MOST_BYTES_OF_A_STRANGER + 1000) == 200
    assert sent(2 * MOST_BYTES_OF_A_STRANGER + 1) == 413
