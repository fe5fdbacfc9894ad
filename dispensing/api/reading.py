"""What the API reads and returns: bodies in JSON as strict as in our files, and PDF as a further form of answer."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import IO, Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from dispensing.documents import NotJson, read_json
from dispensing.models import StaffUser


class StrictJson(JSONParser):
    """JSON in which no key occurs twice: otherwise the last of two powers would silently win."""

    def parse(
        self, stream: IO[bytes], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        body = stream.read(most + 1)
        if len(body) > most:
            raise RequestDataTooBig
        try:
            return read_json(body, parse_float=_finite)
        except NotJson as error:
            raise ParseError(f"The body {error}.") from error


def caller(request: Request) -> StaffUser:
    """The user whose token came with the request; the access gate lets nobody in without one."""
    user = request.user
    assert isinstance(user, StaffUser)
    return user


def _finite(digits: str) -> float:
    value = float(digits)
    if not math.isfinite(value):
        raise ValueError(f"the number {digits[:40]} is too large")
    return value


class PdfOrProblem(JSONRenderer):
    """Lets a caller ask for ``application/pdf``; the view answers with the stored bytes, but a refusal is JSON."""

    media_type = "application/pdf"
    format = "pdf"
