"""Compares every lens of some catalogues for any order. Nothing is stored, and whoever is signed in may use it."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispensing.access import can, signed_in
from dispensing.api.as_typed import Faults, refuse
from dispensing.queries.limits import practice_limits
from dispensing.roles import Ability
from orders.api.documents import document_of
from orders.api.serializers import ComparisonSerializer, OptionsSerializer
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import parse_order
from orders.options.lenses.command import plain, rows_wanted
from orders.options.lenses.comparison import compare
from orders.prices import own_prices


@signed_in
class CompareView(APIView):
    """Compare lenses: send a ``lens-order/1`` and one or more ``lens-catalogue/1``, and get back a ``lens-option/1``
    for each lens on offer.

    The trade's limits apply, or this practice's own where it has set stricter ones. ``only_makeable`` leaves out the
    lenses that the check stops. For staff, the practice's own price list counts if there is one; a lab gets the
    catalogues' prices.
    """

    only_reads = True

    @extend_schema(request=ComparisonSerializer, responses={200: OptionsSerializer})
    def post(self, request: Request) -> Response:
        asked = ComparisonSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        given, faults = asked.validated_data, Faults()
        order = document_of(given["order"], "order", parse_order, faults)
        catalogues = [
            document_of(catalogue, f"catalogues.{place}", parse_catalogue, faults)
            for place, catalogue in enumerate(given["catalogues"])
        ]
        refuse(faults)
        # What the practice asks of its patients is none of a lab's business.
        prices = own_prices() if can(request.user, Ability.ORDER_VIEW) else None
        rows = compare(order, catalogues, practice_limits=practice_limits(), own_prices=prices)
        wanted = rows_wanted(rows, given.get("only_makeable", False))
        return Response({"options": [plain(row) for row in wanted]})
