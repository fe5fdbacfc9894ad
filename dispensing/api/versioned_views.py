"""View sets whose answers carry the version of the record that they show."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rest_framework import mixins, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from dispensing.api.versions import NO_VERSION, based_on, etag_of, is_kept


class WithVersion(mixins.RetrieveModelMixin, GenericViewSet[Any]):
    """For a view set of versioned records: every answer that shows a whole record carries its ETag.

    ``conditional``: the actions that need If-Match; they find the version it names in ``version``.
    ``shows_itself_alone``: an answer shows nothing but the record, so the version alone tells whether a cached answer
    is still right (304).
    """

    conditional: tuple[str, ...] = ()
    shows_itself_alone = False
    version = NO_VERSION

    def get_object(self) -> Any:
        record = super().get_object()
        if self.action in self.conditional:
            self.version = based_on(self.request, record)
        return record

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        if self.shows_itself_alone and is_kept(request, tag := etag_of(self.get_object())):
            return Response(status=status.HTTP_304_NOT_MODIFIED, headers={"ETag": tag})
        return super().retrieve(request, *args, **kwargs)

    def finalize_response(self, request: Any, response: Any, *args: Any, **kwargs: Any) -> Any:
        response = super().finalize_response(request, response, *args, **kwargs)
        shown = getattr(response, "data", None)
        if response.status_code < 300 and isinstance(shown, Mapping) and "version" in shown:
            self._add_headers(request, response, shown)
        if request.method == "GET" and "ETag" in response.headers:
            response.headers["Cache-Control"] = "private, no-cache"
        return response

    def _add_headers(self, request: Any, response: Any, shown: Mapping[str, Any]) -> None:
        # The answer to a PUT has no ETag (RFC 9110, 9.3.4): what is stored is seldom identical to the body sent.
        if request.method != "PUT":
            response.headers["ETag"] = f'"{shown["version"]}"'
        if response.status_code == status.HTTP_201_CREATED:
            address = self.reverse_action("detail", args=[shown["public_id"]])
            response.headers["Location"] = address
