"""Faults as ``application/problem+json`` (RFC 9457), with every fault of the input named by its field."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.core.exceptions import ValidationError as DjangoValidationError
from rest_framework import exceptions, status
from rest_framework.response import Response
from rest_framework.views import exception_handler

from dispensing.api.versions import AtAnotherVersion
from dispensing.services.meanwhile import ChangedMeanwhile

CONTENT_TYPE = "application/problem+json"


class TooLarge(exceptions.APIException):
    status_code = status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_detail = "The body is larger than any of our documents."
    default_code = "too_large"


def problem_handler(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's handler, with Django's validation errors reported like DRF's and all bodies in one form.

    What an error carries in ``also`` is added beside its detail.
    """
    if isinstance(error, ChangedMeanwhile):
        error = AtAnotherVersion(error)
    if isinstance(error, DjangoValidationError):
        error = exceptions.ValidationError(_told(error))
    if isinstance(error, RequestDataTooBig):
        error = TooLarge()
    if isinstance(error, RecursionError):
        error = exceptions.ParseError("This JSON is nested too deeply to be any of our documents.")
    response = exception_handler(error, context)
    if response is None:
        return None
    detail = response.data
    faults = _faults(detail) if isinstance(error, exceptions.ValidationError) else []
    body = problem(response.status_code)
    if faults:
        body["errors"] = faults
    elif isinstance(detail, Mapping) and "detail" in detail:
        body["detail"] = str(detail["detail"])
    body |= getattr(error, "also", {})
    response.data = body
    response.content_type = CONTENT_TYPE
    if isinstance(error, AtAnotherVersion):
        response.headers["ETag"] = error.etag
    return response


def problem(code: int, detail: str | None = None) -> dict[str, Any]:
    """The members that every problem has; for the type ``about:blank`` the title is that of the HTTP status."""
    told: dict[str, Any] = {"type": "about:blank", "title": HTTPStatus(code).phrase, "status": code}
    return told | ({"detail": detail} if detail else {})


def _told(error: DjangoValidationError) -> Any:
    return error.message_dict if hasattr(error, "error_dict") else error.messages


def _faults(detail: Any, path: str = "") -> list[dict[str, str]]:
    """Nested DRF details as a flat list: the place in the body (``lenses.right.base_curve_d``) and the fault."""
    if isinstance(detail, Mapping):
        return [fault for name, part in detail.items() for fault in _faults(part, _path(path, str(name)))]
    if isinstance(detail, list):
        if all(isinstance(part, str) for part in detail):
            return [{"field": path, "message": str(part)} for part in detail]
        return [fault for place, part in enumerate(detail) for fault in _faults(part, f"{path}[{place}]")]
    return [{"field": path, "message": str(detail)}]


def _path(path: str, name: str) -> str:
    """A fault of a whole part of the body is listed under the name of that part."""
    if path and name == "non_field_errors":
        return path
    return f"{path}.{name}".strip(".")
