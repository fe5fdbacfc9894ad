"""Orders over the API, with the same services and the same refusals as the pages."""

from __future__ import annotations

import json
from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import mixins, status
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.api.versioned_views import WithVersion
from dispensing.roles import Ability
from orders.api.finished import FinishedPairs
from orders.api.finished_readings import FinishedReadings
from orders.api.refusals import noted, valid, with_conflicts
from orders.api.sent_documents import SentDocuments
from orders.api.serializers import (
    AskedSerializer,
    DeliverySerializer,
    DraftSerializer,
    EventSerializer,
    NotedEventSerializer,
    NothingSerializer,
    OrderRowSerializer,
    SettleSerializer,
    WholeOrderSerializer,
)
from orders.documents import canonical
from orders.forms.asked import fields_asked
from orders.models import Order
from orders.progress import BY_NOTE
from orders.queries import BoardFilter, filtered, for_page
from orders.rules.command import plain
from orders.services.deciding import note_event
from orders.services.drafts import save_draft, start_and_judge
from orders.services.judging import Judgement, judge
from orders.services.lifting import lift
from orders.services.permitted import DECIDES
from orders.services.sending import send_order


class OrderViewSet(
    WithVersion,
    SentDocuments,
    FinishedPairs,
    FinishedReadings,
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    mixins.CreateModelMixin,
    GenericViewSet[Order],
):
    """Orders, newest first, 50 a page; or one order with its current document, its report and its history."""

    queryset = Order.objects.none()
    serializer_class = OrderRowSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"
    conditional = ("partial_update", "settle", "send")
    http_method_names = ["get", "post", "patch", "head", "options"]
    narrowed_by = ("place", "state", "late", "soon")
    access_by_action = {
        "list": (Ability.ORDER_VIEW,),
        "retrieve": (Ability.ORDER_VIEW,),
        "document": (Ability.ORDER_VIEW,),
        "pdf": (Ability.ORDER_VIEW,),
        "events": (Ability.ORDER_VIEW,),
        "decisions": (DECIDES,),
        "hand_overs": (Ability.ORDER_VIEW,),
        "aftercare": (Ability.ORDER_VIEW,),
        "finished_readings": (Ability.ORDER_VIEW,),
        "add_finished_reading": (Ability.ORDER_VIEW,),
        "create": (Ability.ORDER_EDIT,),
        "partial_update": (Ability.ORDER_EDIT,),
        "settle": (Ability.ORDER_SEND,),
        "send": (Ability.ORDER_SEND,),
        "metadata": (Ability.ORDER_VIEW,),
    }

    def get_queryset(self) -> Any:
        if self.action == "list":
            asked = valid(AskedSerializer(data=self.request.query_params))
            sent = self.request.query_params
            wanted = BoardFilter(**asked, late="late" in sent, soon="soon" in sent)
            return filtered(wanted).select_related("patient", "lab").order_by("-pk")
        return for_page()

    @extend_schema(
        parameters=[
            AskedSerializer,
            OpenApiParameter("late", str, description="Present: only late ones."),
            OpenApiParameter("soon", str, description="Present: only those that will be late."),
        ]
    )
    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Filter by `place` or `state`; `late`: needed before today and not ready; `soon`: expected after its day."""
        return super().list(request, *args, **kwargs)

    @extend_schema(responses=WholeOrderSerializer)
    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return Response(_whole(self.get_object()))

    @extend_schema(request=DraftSerializer, responses={201: WholeOrderSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Start a draft."""
        values = valid(DraftSerializer(data=request.data))
        patient = values.pop("patient")
        fields = fields_asked(Order(patient=patient), values)
        order, judged = start_and_judge(actor=caller(request), patient=patient, **fields)
        return Response(_whole(for_page().get(pk=order.pk), judged), status=status.HTTP_201_CREATED)

    @extend_schema(request=DraftSerializer, responses=WholeOrderSerializer)
    def partial_update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Change a draft; 409 if the order is no longer a draft."""
        order = self.get_object()
        values = valid(DraftSerializer(data=request.data, partial=True))
        if "patient" in values:
            raise ValidationError({"patient": "An order stays with its patient."})
        fields = fields_asked(order, values)
        judged = with_conflicts(save_draft, order=order, actor=caller(request), version=self.version, fields=fields)
        return Response(_whole(for_page().get(pk=order.pk), judged))

    @extend_schema(request=SettleSerializer, responses=WholeOrderSerializer)
    @action(detail=True, methods=["post"])
    def settle(self, request: Request, **kwargs: Any) -> Response:
        """Confirm a question or lift a stop, with a reason; 409 for what is missing, which nobody lifts."""
        order = self.get_object()
        asked = valid(SettleSerializer(data=request.data))
        judged = with_conflicts(lift, order=order, actor=caller(request), version=self.version, **asked)
        return Response(_whole(for_page().get(pk=order.pk), judged))

    @extend_schema(request=NothingSerializer, responses=WholeOrderSerializer)
    @action(detail=True, methods=["post"])
    def send(self, request: Request, **kwargs: Any) -> Response:
        """Send the draft. If it may not be sent yet, 409 lists the open findings."""
        order = self.get_object()
        valid(NothingSerializer(data=request.data))
        with_conflicts(send_order, order=order, actor=caller(request), version=self.version)
        return Response(_whole(for_page().get(pk=order.pk)))

    @extend_schema(request=NotedEventSerializer, responses={201: EventSerializer})
    @action(detail=True, methods=["post"])
    def events(self, request: Request, **kwargs: Any) -> Response:
        """Record what happened to an order. If that cannot come next, 409 lists what can; a decision may be refused."""
        order = self.get_object()
        told = noted(NotedEventSerializer(data=request.data), BY_NOTE)
        event = with_conflicts(note_event, order=order, actor=caller(request), **told)
        return Response(EventSerializer(event).data, status=status.HTTP_201_CREATED)


def _whole(order: Order, judged: Judgement | None = None) -> dict[str, Any]:
    """The order's row, its document (the frozen one if there is one), the report on it, its deliveries and events.

    ``judged``: the judgement made when the draft was saved a moment ago; without it, the check is run.
    """
    stored = next(iter(order.documents.all()), None)
    if stored:
        document, report = json.loads(stored.text), json.loads(stored.report)
    else:
        judged = judged or judge(order)
        document = canonical.plain(judged.document)
        report = plain(judged.report)
    return {
        **OrderRowSerializer(order).data,
        "document": document,
        "sha256": stored.sha256 if stored else None,
        "report": report,
        "deliveries": DeliverySerializer(stored.deliveries.all() if stored else [], many=True).data,
        "events": EventSerializer(order.events.all(), many=True).data,
    }
