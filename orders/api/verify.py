"""Holds any finished pair against any order. Nothing is stored, and every signed-in role and every lab may use it."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispensing.access import signed_in
from dispensing.api.as_typed import Faults, refuse
from orders.api.documents import VERDICT, described, document_of
from orders.api.serializers import VerifySerializer
from orders.documents.finished_pair import parse_readings
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import parse_order
from orders.queries import tolerances_in_force
from orders.verification import verify
from orders.verification.command import plain


@signed_in
class VerifyView(APIView):
    """Judge a finished pair: send a ``lens-order/1`` and its ``finished-readings/1``, and get back a
    ``finished-verdict/1``.

    Without ``standard`` by the one this practice works to; its own stricter limits apply where it has set any.
    ``catalogue`` tells the kinds of lenses where the order does not.
    """

    only_reads = True

    @extend_schema(request=VerifySerializer, responses={200: described(VERDICT)})
    def post(self, request: Request) -> Response:
        asked = VerifySerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        given, faults = asked.validated_data, Faults()
        order = document_of(given["order"], "order", parse_order, faults)
        readings = document_of(given["readings"], "readings", parse_readings, faults)
        catalogue = given.get("catalogue")
        if catalogue is not None:
            catalogue = document_of(catalogue, "catalogue", parse_catalogue, faults)
        refuse(faults)
        limits = tolerances_in_force(given.get("standard", ""))
        return Response(plain(verify(order, readings, limits, catalogue)))
