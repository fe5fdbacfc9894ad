"""Version headers in the OpenAPI description: If-Match and If-None-Match on calls that use them, ETag in answers."""

from __future__ import annotations

from typing import Any

from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter

from dispensing.api.versioned_views import WithVersion

ETAG_PATTERN = r'^"[1-9][0-9]*"$'


def _header(name: str, text: str, **kwargs: Any) -> OpenApiParameter:
    schema: dict[str, Any] = {"type": "string"}
    if name in ("ETag", "If-Match"):
        schema["pattern"] = ETAG_PATTERN
    return OpenApiParameter(name, schema, OpenApiParameter.HEADER, description=text, **kwargs)


KEPT = _header("If-None-Match", "The ETag of an answer kept: 304 while it is still right.")
FILE_HEADERS = [
    KEPT,
    OpenApiParameter("ETag", str, OpenApiParameter.HEADER, description="Its SHA-256.", response=[200]),
]


class VersionedSchema(AutoSchema):
    """The library's description of a call, with these headers."""

    def get_override_parameters(self) -> list[Any]:
        found = list(super().get_override_parameters())
        if not isinstance(self.view, WithVersion):
            return found
        action = getattr(self.view, "action", "")
        if action in self.view.conditional:
            found.append(_header("If-Match", "The ETag of the record as it was last read.", required=True))
        if action == "retrieve" and self.view.shows_itself_alone:
            found.append(KEPT)
        if action in ("retrieve", "create", *self.view.conditional) and self.method != "PUT":
            found.append(_header("ETag", "The version of the record, in quotes.", response=[200, 201]))
        if action == "create":
            found.append(_header("Location", "Where the record is.", response=[201]))
        return found
