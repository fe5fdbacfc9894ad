"""Compares the frames of a stock for any order. Nothing is stored, and whoever is signed in may use it."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispensing.access import signed_in
from dispensing.api.as_typed import Faults, refuse
from dispensing.queries.limits import practice_limits
from orders.api.documents import document_of
from orders.api.serializers import FrameComparisonSerializer, FrameOptionsSerializer
from orders.documents.frame_stock import parse_stock
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import LensOrder, parse_order
from orders.options.frames.command import rows_wanted
from orders.options.frames.comparison import compare_frames
from orders.options.frames.document import plain

NO_LENS = "No lens is ordered, so no frame can be compared for one."


@signed_in
class CompareFramesView(APIView):
    """Compare frames: send a ``lens-order/1`` with its lenses, the ``lens-catalogue/1`` they are in and a
    ``frame-stock/1``, and get back a ``frame-option/1`` for each frame.

    Heights are assumed. The trade's limits apply, or this practice's own where it has set stricter ones.
    ``only_makeable`` leaves out the frames that the check stops.
    """

    only_reads = True

    @extend_schema(request=FrameComparisonSerializer, responses={200: FrameOptionsSerializer})
    def post(self, request: Request) -> Response:
        asked = FrameComparisonSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        given, faults = asked.validated_data, Faults()
        order: LensOrder | None = document_of(given["order"], "order", parse_order, faults)
        catalogue = document_of(given["catalogue"], "catalogue", parse_catalogue, faults)
        stock = document_of(given["stock"], "stock", parse_stock, faults)
        if order is not None and not order.ordered_eyes:
            faults["order.lenses"] = [NO_LENS]
        refuse(faults)
        assert order is not None
        rows = compare_frames(order, catalogue, stock.frames, practice_limits=practice_limits())
        wanted = rows_wanted(rows, given.get("only_makeable", False))
        return Response({"options": [plain(row) for row in wanted]})
