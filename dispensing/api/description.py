"""The OpenAPI description, as a file for programs and as a page for people."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.views import SpectacularJSONAPIView
from knox.auth import TokenAuthentication
from rest_framework.authentication import SessionAuthentication

from dispensing.access import ApiAccess, signed_in


@signed_in
class DescriptionView(SpectacularJSONAPIView):
    """The OpenAPI 3 document, for callers with a token and for anyone signed in on the pages."""

    authentication_classes = [TokenAuthentication, SessionAuthentication]
    # The library's view is open to everybody; here it goes through the same access check as all the others.
    permission_classes = [ApiAccess]


@signed_in
@require_safe
def api_page(request: HttpRequest) -> HttpResponse:
    """The page that lists what the API can do, read from its own description."""
    schema = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]  # untyped
    calls = [
        {
            "path": path,
            "method": method.upper(),
            "text": call.get("description", ""),
            "answers": sorted(call["responses"]),
        }
        for path, methods in schema["paths"].items()
        for method, call in methods.items()
    ]
    return render(request, "api.html", {"nouns": _by_noun(calls)})


PROBLEM = {
    "type": "object",
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {"field": {"type": "string"}, "message": {"type": "string"}},
                "required": ["field", "message"],
            },
        },
        # In a 412: the record's current version, who made it, and where the two differ.
        "version": {"type": "integer"},
        "changed_by": {"type": ["string", "null"]},
        "changed_at": {"type": ["string", "null"], "format": "date-time"},
        "differences": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {"field": {"type": "string"}, "now": {}, "yours": {}},
                "required": ["field", "now", "yours"],
            },
        },
        # When a prescription has not been stored yet: what to confirm.
        "questions": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {"key": {"type": "string"}, "message": {"type": "string"}},
                "required": ["key", "message"],
            },
        },
    },
    "required": ["type", "title", "status"],
}
REFUSALS = {
    "400": "Something in the request is at fault; each fault is named by its field.",
    "401": "No token, or one that was revoked.",
    "403": "The token's owner may not do this.",
    "404": "There is no such record.",
    "406": "The answer is JSON (of a PDF: JSON or PDF), and neither was asked for.",
    "409": "The record is in another state than the caller thought.",
    "413": "The body is too large.",
    "415": "The body is not JSON.",
}

VERSION_REFUSALS = {
    "412": "The record is at another version than If-Match names: by whom, when, and where the two differ.",
    "428": "If-Match is missing, and the change could overwrite what its caller has not seen.",
}


def with_refusals(result: dict[str, Any], **kwargs: Any) -> dict[str, Any]:
    """Adds the refusals that every call may give, always in the same form (RFC 9457)."""
    result.setdefault("components", {}).setdefault("schemas", {})["Problem"] = PROBLEM
    content = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
    for methods in result["paths"].values():
        for call in methods.values():
            is_conditional = any(one["name"] == "If-Match" for one in call.get("parameters", ()))
            for status, text in {**REFUSALS, **(VERSION_REFUSALS if is_conditional else {})}.items():
                call["responses"].setdefault(status, {"description": text, "content": content})
            if any(one["name"] == "If-None-Match" for one in call.get("parameters", ())):
                call["responses"].setdefault("304", {"description": "What the caller keeps is still right."})
    return result


def _by_noun(calls: list[dict[str, Any]]) -> list[dict[str, Any]]:
    nouns: dict[str, list[dict[str, Any]]] = {}
    for call in calls:
        nouns.setdefault(call["path"].split("/")[2], []).append(call)
    return [{"name": name.replace("-", " ").capitalize(), "calls": found} for name, found in nouns.items()]
