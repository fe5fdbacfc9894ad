"""Addresses for programs that watch the server: is it alive, is it ready, and what it measures."""

from __future__ import annotations

import ipaddress
from hmac import compare_digest

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.utils.module_loading import autodiscover_modules
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from prometheus_client import CONTENT_TYPE_LATEST

from dispensing.access import open_to_all
from dispensing.client_address import client_address
from dispensing.watching.measured import as_text
from dispensing.watching.ready import readiness

# What each app adds to the checks and figures.
autodiscover_modules("watching")


@open_to_all
@require_safe
@never_cache
def health(request: HttpRequest) -> HttpResponse:
    """That this process answers at all; asks nothing of anything else."""
    return HttpResponse("alive\n", content_type="text/plain")


@open_to_all
@require_safe
@never_cache
def ready(request: HttpRequest) -> HttpResponse:
    """200 if it can do its work, else 503, and in both cases each check in a word."""
    found = readiness()
    body = {"ready": found.ready, **{name: said or "ok" for name, said in found.told.items()}}
    return JsonResponse(body, status=200 if found.ready else 503)


@open_to_all
@require_safe
@never_cache
def metrics(request: HttpRequest) -> HttpResponse:
    """Only for addresses named in the settings, or with their token; for anybody else it does not exist."""
    if not (_is_named(client_address(request)) or _has_token(request)):
        raise Http404
    return HttpResponse(as_text(), content_type=CONTENT_TYPE_LATEST)


def _is_named(address: str) -> bool:
    try:
        asking = ipaddress.ip_address(address)
    except ValueError:
        return False
    return any(asking in network for network in settings.METRICS_FROM)


def _has_token(request: HttpRequest) -> bool:
    given = request.headers.get("Authorization", "").removeprefix("Bearer ")
    return bool(settings.METRICS_TOKEN) and compare_digest(given.encode(), settings.METRICS_TOKEN.encode())
