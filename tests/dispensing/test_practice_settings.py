"""The practice's settings: saved, recorded on the audit trail, and refused in words where they are impossible."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.forms import model_to_dict
from django.urls import reverse

from dispensing.models import AuditEvent, Practice
from tests.known import there
from tests.people import Answer, signed_in

pytestmark = pytest.mark.django_db


def save(**changes: Any) -> Answer:
    practice = Practice.current()
    settings = model_to_dict(practice, exclude=["id"]) | {"name": "Thistledown Opticians", "version": practice.version}
    typed = {name: "" if value is None else value for name, value in (settings | changes).items()}
    return signed_in("ines").post(reverse("practice-settings"), typed)


def test_what_changed_is_told_and_what_did_not_is_not() -> None:
    save()
    save(rounding_mm="0.1", eye_headings="od_os", country="us", paper="letter")
    practice = Practice.current()
    assert (practice.rounding_mm, practice.right_heading, practice.country) == (Decimal("0.1"), "OD", "US")
    assert practice.paper == "letter"
    event = there(AuditEvent.objects.first())
    assert (event.verb, event.changes) == (
        "practice.change",
        {
            "rounding_mm": ["0.5", "0.1"],
            "eye_headings": ["r_l", "od_os"],
            "country": ["GB", "US"],
            "paper": ["", "letter"],
        },
    )


def test_saving_the_settings_as_they_are_records_nothing() -> None:
    save()
    save()
    assert AuditEvent.objects.count() == 1


BAD = [
    ({"country": "Britain"}, "country"),
    ({"country": "G1"}, "country"),
    ({"order_prefix": "D-"}, "order_prefix"),
    ({"order_prefix": ""}, "order_prefix"),
    ({"keep_adult_years": "0"}, "keep_adult_years"),
    ({"keep_adult_years": "ten"}, "keep_adult_years"),
    ({"keep_child_until_age": "17"}, "keep_child_until_age"),
    ({"rounding_mm": "0.2"}, "rounding_mm"),
    ({"tolerance_standard": "house"}, "tolerance_standard"),
    ({"test_vertex_mm": "4.9"}, "test_vertex_mm"),
    ({"test_vertex_mm": "25.1"}, "test_vertex_mm"),
    ({"name": ""}, "name"),
    ({"email": "desk at thistledown"}, "email"),
]


@pytest.mark.parametrize(("changes", "field"), BAD)
def test_a_setting_that_cannot_be_is_refused_beside_its_field(changes: dict[str, Any], field: str) -> None:
    response = save(**changes)
    assert list(response.context["form"].errors) == [field]
    assert not AuditEvent.objects.exists()


def test_every_setting_has_its_field_and_is_explained_or_plain() -> None:
    form = signed_in("ines").get(reverse("practice-settings")).context["form"]
    assert set(form.fields) == {field.name for field in Practice._meta.fields} - {"id", "version"}
    assert {name for name, field in form.fields.items() if not field.help_text} == {"phone", "email"}
