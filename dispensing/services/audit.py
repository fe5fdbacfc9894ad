"""Writing the audit trail. Every service that changes a record calls :func:`record` in its transaction."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db import models

from dispensing.models import AuditEvent, Patient, StaffUser
from dispensing.origin import present_origin


def record(
    *,
    actor: StaffUser | None,
    verb: str,
    target: models.Model | None = None,
    patient: Patient | None = None,
    changes: dict[str, Any] | None = None,
) -> AuditEvent:
    origin = present_origin()
    return AuditEvent.objects.create(
        actor=actor,
        verb=verb,
        record=target._meta.model_name or "" if target is not None else "",
        record_id=getattr(target, "public_id", None),
        patient=patient,
        changes=changes or {},
        version=getattr(target, "version", None),
        address=origin.address if origin else None,
        token=(origin.token or None) if origin else None,
    )


def differing(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, tuple[Any, Any]]:
    """Old and new value of each field that differs."""
    return {name: (before.get(name), value) for name, value in after.items() if before.get(name) != value}


def in_words(fields: Mapping[str, tuple[Any, Any]]) -> dict[str, list[str | None]]:
    """Old and new value of each field as the trail keeps them."""
    return {name: [_text(before), _text(after)] for name, (before, after) in fields.items()}


def changed_fields(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, list[str | None]]:
    """Old and new value of each field that differs, as text."""
    return in_words(differing(before, after))


def _text(value: Any) -> str | None:
    """A figure as it was typed: the database returns powers to three decimals, which only an eighth needs."""
    if isinstance(value, Decimal) and int(value.as_tuple().exponent) < -2 and value == round(value, 2):
        value = round(value, 2)
    return None if value is None else str(value)
