"""The OpenAPI description is valid, and calls made up from it never break the server or get an undescribed answer.

By hand, many more calls by everybody, half of them about records that are there:
``API_CALLS=200 API_ROLES=all python -m pytest tests/orders/api/test_the_api_keeps_to_its_description.py``.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from io import StringIO
from typing import Any
from zlib import crc32

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

from dispensing.models.tokens import Scope
from dispensing.services.tokens import issue_token
from dispensing.wsgi import application
from orders.services.lab_users import issue_lab_token
from tests.bystanders.world import World, build
from tests.orders import shop
from tests.people import person, signed_in

EXAMPLES_A_CALL = int(os.environ.get("API_CALLS", "20"))
BY_ALL = os.environ.get("API_ROLES") == "all"
USERNAMES = {"front desk": "dora", "dispenser": "ravi", "manager": "ines"}
ROLES = [*USERNAMES, "reads only", "lab", "stranger"] if BY_ALL else ["manager or lab"]
# What an address under each of these names, in a household of records.
RECORDS = {
    "/api/patients/": ("patient",),
    "/api/prescriptions/": ("prescription", "near_prescription"),
    "/api/worn-pairs/": ("worn_pair",),
    "/api/papers/": ("paper",),
    "/api/frames/": ("frame", "own_frame"),
    "/api/fittings/": ("fitting",),
    "/api/orders/": ("draft", "sent", "sent_and_cancelled"),
    "/api/lab-orders/": ("sent",),
    "/api/catalogues/": ("catalogue",),
}
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


@dataclass(frozen=True)
class Callers:
    """Tokens by role, and the records that calls can be about; no records but when many calls are made."""

    tokens: dict[str, str]
    world: World | None

    def headers(self, role: str, path: str) -> dict[str, str]:
        """A manager may not make the calls of a lab."""
        if role == "manager or lab":
            role = "lab" if "/lab-orders/" in path else "manager"
        return {"Authorization": f"Bearer {self.tokens[role]}"} if role in self.tokens else {}

    def about_a_record(self, case: Any) -> None:
        """Half of all made-up keys become those of records that are there."""
        key = (case.path_parameters or {}).get("public_id")
        names = next((names for path, names in RECORDS.items() if case.operation.path.startswith(path)), ())
        drawn = crc32(repr(key).encode())  # a key may be made up of anything
        if self.world is not None and key and names and drawn % 2:
            case.path_parameters["public_id"] = str(self.world[names[drawn // 2 % len(names)]].public_id)


@pytest.fixture
def callers(db: None) -> Callers:
    world = build() if BY_ALL else None
    if world is None:
        shop.practice()
    ines, lab = person("ines"), world["lab"] if world else shop.lab()
    tokens = {role: issue_token(actor=ines, user=person(name)) for role, name in USERNAMES.items()}
    tokens["reads only"] = issue_token(actor=ines, user=ines, scope=Scope.READ)
    tokens["lab"] = issue_lab_token(lab=lab, actor=ines)
    return Callers(tokens, world)


@pytest.mark.usefixtures("_one_connection")
@pytest.mark.parametrize("role", ROLES)
@schema.parametrize()
@settings(
    max_examples=EXAMPLES_A_CALL,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_no_call_made_up_from_the_description_breaks_the_server(case: Any, role: str, callers: Callers) -> None:
    callers.about_a_record(case)
    answer = case.call(headers=callers.headers(role, case.operation.path))
    checks = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
    case.validate_response(answer, checks=checks)
