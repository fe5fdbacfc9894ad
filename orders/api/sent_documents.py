"""The two files of a sent order, read by the practice and by its lab alike."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from dispensing.api.reading import PdfOrProblem
from orders.api.documents import ORDER, described
from orders.api.refusals import Conflict
from orders.models import Order, OrderDocument


class SentDocuments:
    """For a view set of orders; each answers 409 while there is only a draft."""

    get_object: Any

    @extend_schema(responses={200: described(ORDER)})
    @action(detail=True, methods=["get"])
    def document(self, request: Request, **kwargs: Any) -> HttpResponse:
        """The frozen `lens-order/1`, byte for byte as it was sent."""
        return HttpResponse(stored_of(self.get_object()).text, content_type="application/json")

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    @action(detail=True, methods=["get"], renderer_classes=[JSONRenderer, PdfOrProblem])
    def pdf(self, request: Request, **kwargs: Any) -> HttpResponse:
        """The lab-order PDF as it was sent."""
        return HttpResponse(bytes(stored_of(self.get_object()).pdf), content_type="application/pdf")


def stored_of(order: Order) -> OrderDocument:
    stored = next(iter(order.documents.all()), None)
    if stored is None:
        raise Conflict("A draft has no frozen document yet.")
    return stored
