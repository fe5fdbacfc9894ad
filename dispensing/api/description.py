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
    """The OpenAPI 3 document, for a token or for whoever is signed in on the pages."""

    authentication_classes = [TokenAuthentication, SessionAuthentication]
    # The library's view opens itself to everybody; here it is asked like all others.
    permission_classes = [ApiAccess]


@signed_in
@require_safe
def api_page(request: HttpRequest) -> HttpResponse:
    """What can be asked of the API, read from its own description."""
    schema = SchemaGenerator().get_schema(request=None, public=True)
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


def _by_noun(calls: list[dict[str, Any]]) -> list[dict[str, Any]]:
    nouns: dict[str, list[dict[str, Any]]] = {}
    for call in calls:
        nouns.setdefault(call["path"].split("/")[2], []).append(call)
    return [{"name": name.replace("-", " ").capitalize(), "calls": found} for name, found in nouns.items()]
