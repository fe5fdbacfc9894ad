"""Gives each request its number, and counts and times its answer. Stands before everything else."""

from __future__ import annotations

import time
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from dispensing.watching import request_id
from dispensing.watching.measured import requests_answered, seconds_taken

METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}


class WatchedRequest:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        number, began = request_id.begin(request), time.perf_counter()
        response = self.get_response(request)
        page = request.resolver_match.view_name if request.resolver_match else "none"
        method = request.method if request.method in METHODS else "other"
        requests_answered.labels(page, method, str(response.status_code)).inc()
        seconds_taken.labels(page).observe(time.perf_counter() - began)
        response.headers[request_id.HEADER] = number
        return response
