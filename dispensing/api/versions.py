"""Versions of records expressed in HTTP: ETag, If-Match and If-None-Match (RFC 9110), 428 (RFC 6585).

An ETag is the version of the record in quotes. A change names in If-Match the version it is based on. The service that
writes compares it under lock and, if they differ, raises ChangedMeanwhile, which becomes a 412 here.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Model
from django.utils.http import parse_etags
from rest_framework import status
from rest_framework.exceptions import APIException
from rest_framework.request import Request

from dispensing.models.versions import Versioned
from dispensing.services.meanwhile import ChangedMeanwhile

NO_VERSION = 0


class NotConditional(APIException):
    """The change could overwrite something that its caller has not seen."""

    status_code = status.HTTP_428_PRECONDITION_REQUIRED
    default_detail = (
        "Name the version that this change is based on: send the record's ETag as If-Match, in its quotes. "
        "“*” would overwrite what you have not seen."
    )
    default_code = "precondition_required"


class AtAnotherVersion(APIException):
    """The record is no longer at the version the change is based on; gives what it holds now and what was wanted."""

    status_code = status.HTTP_412_PRECONDITION_FAILED
    default_code = "precondition_failed"

    def __init__(self, refused: ChangedMeanwhile):
        super().__init__(str(refused))
        self.etag = etag_of(refused.record)
        self.also = {
            "version": refused.version,
            "changed_by": str(refused.by) if refused.by else None,
            "changed_at": refused.at.isoformat() if refused.at else None,
            "differences": list(differences(refused.fields)),
        }


def etag_of(record: Versioned) -> str:
    return f'"{record.version}"'


def based_on(request: Request, record: Versioned) -> int:
    """The version that the request's change is based on, for the service to compare. Raises NotConditional."""
    named = parse_etags(request.headers.get("If-Match", ""))
    if not named or named == ["*"]:
        raise NotConditional
    return record.version if etag_of(record) in named else NO_VERSION


def is_kept(request: Request, etag: str) -> bool:
    """Whether the caller says that it already holds this exact answer."""
    named = parse_etags(request.headers.get("If-None-Match", ""))
    return named == ["*"] or etag in [one.removeprefix("W/") for one in named]


def differences(fields: Mapping[str, tuple[Any, Any]], path: str = "") -> Any:
    """One row per value: where it is, what it is now, and what was wanted."""
    for name, (now, yours) in fields.items():
        place = f"{path}.{name}" if path else name
        if isinstance(now, dict) and isinstance(yours, dict):
            both = {key: (now.get(key), yours.get(key)) for key in sorted({*now, *yours})}
            yield from differences({key: pair for key, pair in both.items() if pair[0] != pair[1]}, place)
        else:
            yield {"field": place, "now": as_json(now), "yours": as_json(yours)}


def as_json(value: Any) -> Any:
    """A value as the record itself shows it: a number, a day, or another record by its id."""
    if isinstance(value, Model):
        return str(getattr(value, "public_id", value))
    if isinstance(value, Decimal):
        return float(value)
    return value.isoformat() if isinstance(value, date) else value
