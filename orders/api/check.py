"""Checks any order against any catalogue. Nothing is stored, and every signed-in role and every lab may use it."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispensing.access import signed_in
from dispensing.api.as_typed import Faults, refuse
from dispensing.queries.limits import practice_limits
from orders.api.documents import REPORT, described, document_of
from orders.api.serializers import CheckSerializer
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import parse_order
from orders.rules import check
from orders.rules.command import plain


@signed_in
class CheckView(APIView):
    """Check an order: send a ``lens-order/1`` and a ``lens-catalogue/1``, and get back an ``order-report/1``.

    The trade's limits apply, or this practice's own where it has set stricter ones.
    """

    only_reads = True

    @extend_schema(request=CheckSerializer, responses={200: described(REPORT)})
    def post(self, request: Request) -> Response:
        asked = CheckSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        faults: Faults = {}
        order = document_of(asked.validated_data["order"], "order", parse_order, faults)
        catalogue = document_of(asked.validated_data["catalogue"], "catalogue", parse_catalogue, faults)
        refuse(faults)
        return Response(plain(check(order, catalogue, (), practice_limits())))
