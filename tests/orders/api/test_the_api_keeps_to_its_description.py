"""The OpenAPI description is valid, and calls made up from it never break the server or get an undescribed answer."""

from __future__ import annotations

from collections.abc import Iterator
from io import StringIO
from typing import Any

import pytest
import schemathesis
from django.core.management import call_command
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.urls import reverse
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, Phase, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from dispensing.services.tokens import issue_token
from dispensing.wsgi import application
from orders.services.lab_users import issue_lab_token
from tests.orders import shop
from tests.people import person, signed_in

EXAMPLES_A_CALL = 20
DESCRIPTION = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]  # untyped
schema = schemathesis.openapi.from_dict(DESCRIPTION)
schema.app = application


def test_the_description_is_valid_and_nothing_in_it_had_to_be_guessed() -> None:
    told, warnings = StringIO(), StringIO()
    call_command("spectacular", validate=True, fail_on_warn=True, stdout=told, stderr=warnings)
    assert "openapi: 3" in told.getvalue()


def test_the_description_names_every_call_of_the_api_and_its_refusals() -> None:
    paths = DESCRIPTION["paths"]
    assert "/api/orders/{public_id}/send/" in paths
    refusal = paths["/api/orders/{public_id}/send/"]["post"]["responses"]["409"]
    assert set(refusal["content"]) == {"application/problem+json"}


@pytest.mark.django_db
def test_the_page_of_the_api_lists_every_call() -> None:
    html = signed_in("dora").get(reverse("api-page")).content.decode()
    for path in DESCRIPTION["paths"]:
        assert path in html


@pytest.fixture
def _one_connection() -> Iterator[Any]:
    """A call through WSGI would close the test's own connection behind itself."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.fixture
def tokens(db: None) -> dict[str, str]:
    """Of a manager, and of the lab whose calls a manager may not make."""
    shop.practice()
    lab_token = issue_lab_token(lab=shop.lab(), actor=person("ines"))
    return {"manager": issue_token(actor=person("ines"), user=person("ines")), "lab": lab_token}


@pytest.mark.usefixtures("_one_connection")
@schema.parametrize()
@settings(
    max_examples=EXAMPLES_A_CALL,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_no_call_made_up_from_the_description_breaks_the_server(case: Any, tokens: dict[str, str]) -> None:
    token = tokens["lab" if "/lab-orders/" in case.operation.path else "manager"]
    answer = case.call(headers={"Authorization": f"Bearer {token}"})
    checks = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
    case.validate_response(answer, checks=checks)
