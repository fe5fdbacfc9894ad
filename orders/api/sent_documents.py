"""The two files of a sent order, for both the practice and the lab."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from dispensing.api.reading import PdfOrProblem
from dispensing.api.version_headers import FILE_HEADERS
from dispensing.api.versions import is_kept
from orders.api.documents import ORDER, described
from orders.api.refusals import Conflict
from orders.models import Order, OrderDocument


class SentDocuments:
    """Mix this into a view set of orders. Both actions answer 409 while the order is still a draft."""

    get_object: Any

    def handed_out(self, order: Order) -> None:
        """Called with each order whose document was read."""

    @extend_schema(parameters=FILE_HEADERS, responses={200: described(ORDER)})
    @action(detail=True, methods=["get"])
    def document(self, request: Request, **kwargs: Any) -> HttpResponse:
        """The frozen `lens-order/1`, byte for byte as sent."""
        order = self.get_object()
        stored = stored_of(order)
        self.handed_out(order)
        return _file(request, stored.sha256, "application/json", lambda: stored.text)

    @extend_schema(parameters=FILE_HEADERS, responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    @action(detail=True, methods=["get"], renderer_classes=[JSONRenderer, PdfOrProblem])
    def pdf(self, request: Request, **kwargs: Any) -> HttpResponse:
        """The lab-order PDF as sent."""
        order = self.get_object()
        stored = stored_of(order)
        self.handed_out(order)
        return _file(request, stored.pdf_sha256, "application/pdf", lambda: bytes(stored.pdf))


def _file(request: Request, sha256: str, content_type: str, content: Callable[[], str | bytes]) -> HttpResponse:
    """The file, or 304 if the caller already has it. The file never changes, and its hash is its ETag."""
    headers = {"ETag": f'"{sha256}"', "Cache-Control": "private, no-cache"}
    if is_kept(request, headers["ETag"]):
        return HttpResponse(status=304, headers=headers)
    return HttpResponse(content(), content_type=content_type, headers=headers)


def stored_of(order: Order) -> OrderDocument:
    stored = next(iter(order.documents.all()), None)
    if stored is None:
        raise Conflict("A draft has no frozen document yet.")
    return stored
