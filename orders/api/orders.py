"""Orders over the API: the same services as the pages, the same refusals."""

from __future__ import annotations

import json
from typing import Any

from django.http import HttpResponse
from drf_spectacular.utils import OpenApiParameter, OpenApiTypes, extend_schema
from rest_framework import mixins, status
from rest_framework.decorators import action
from rest_framework.exceptions import APIException, PermissionDenied, ValidationError
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from dispensing.api.paging import ByKey
from dispensing.api.reading import PdfOrProblem
from dispensing.roles import Ability
from orders.api.serializers import (
    AskedSerializer,
    DeliverySerializer,
    DraftSerializer,
    EventSerializer,
    NotedEventSerializer,
    OrderRowSerializer,
    SettleSerializer,
    VersionSerializer,
)
from orders.models import Order, OrderDocument
from orders.progress import EventKind
from orders.queries import BoardFilter, filtered, for_page
from orders.rules.command import plain
from orders.services.drafts import save_draft, start_draft
from orders.services.errors import NoSuchFinding, NotReady, NotRegistered, SavedByAnother
from orders.services.events import record_event
from orders.services.judging import judge
from orders.services.lifting import lift
from orders.services.sending import send_order
from orders.states import NotAllowed


class Conflict(APIException):
    """The record is not as the caller thought: another version, or another state."""

    status_code = status.HTTP_409_CONFLICT
    default_detail = "The order has changed."
    default_code = "conflict"

    def __init__(self, detail: str | None = None, **also: Any):
        super().__init__(detail)
        self.also = also


class OrderViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, mixins.CreateModelMixin, GenericViewSet):
    """Orders, newest first, 50 a page; one order with its document as it stands, its report and its history."""

    serializer_class = OrderRowSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"
    http_method_names = ["get", "post", "patch", "head", "options"]
    narrowed_by = ("place", "state", "late")
    access_by_action = {
        "list": (Ability.ORDER_VIEW,),
        "retrieve": (Ability.ORDER_VIEW,),
        "document": (Ability.ORDER_VIEW,),
        "pdf": (Ability.ORDER_VIEW,),
        "events": (Ability.ORDER_VIEW,),
        "create": (Ability.ORDER_EDIT,),
        "partial_update": (Ability.ORDER_EDIT,),
        "settle": (Ability.ORDER_SEND,),
        "send": (Ability.ORDER_SEND,),
        "metadata": (Ability.ORDER_VIEW,),
    }

    def get_queryset(self) -> Any:
        if self.action == "list":
            asked = valid(AskedSerializer(data=self.request.query_params))
            wanted = BoardFilter(**asked, late="late" in self.request.query_params)
            return filtered(wanted).select_related("patient", "lab").order_by("-pk")
        return for_page()

    @extend_schema(parameters=[AskedSerializer, OpenApiParameter("late", str, description="Present: only late ones.")])
    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Narrow by `place`, `state`, or with `late` to those needed before today and not ready."""
        return super().list(request, *args, **kwargs)

    @extend_schema(responses=OpenApiTypes.OBJECT)
    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return Response(_whole(self.get_object()))

    @extend_schema(request=DraftSerializer, responses={201: OpenApiTypes.OBJECT})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Start a draft."""
        values = valid(DraftSerializer(data=request.data))
        values.pop("version", None)
        order = start_draft(actor=request.user, **values)
        return Response(_whole(for_page().get(pk=order.pk)), status=status.HTTP_201_CREATED)

    @extend_schema(request=DraftSerializer, responses=OpenApiTypes.OBJECT)
    def partial_update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Change a draft; 409 when another person saved it in the meantime."""
        values = valid(DraftSerializer(data=request.data, partial=True))
        version = values.pop("version", None)
        if version is None:
            raise ValidationError({"version": "Name the version that this change is based on."})
        if "patient" in values:
            raise ValidationError({"patient": "An order stays with its patient."})
        order = self.get_object()
        with_conflicts(save_draft, order=order, actor=request.user, version=version, fields=values)
        return Response(_whole(for_page().get(pk=order.pk)))

    @extend_schema(request=SettleSerializer, responses=OpenApiTypes.OBJECT)
    @action(detail=True, methods=["post"])
    def settle(self, request: Request, **kwargs: Any) -> Response:
        """Confirm a question or lift a stop, with a reason."""
        order = self.get_object()
        with_conflicts(lift, order=order, actor=request.user, **valid(SettleSerializer(data=request.data)))
        return Response(_whole(for_page().get(pk=order.pk)))

    @extend_schema(request=VersionSerializer, responses=OpenApiTypes.OBJECT)
    @action(detail=True, methods=["post"])
    def send(self, request: Request, **kwargs: Any) -> Response:
        """Send the draft; 409 with the open findings while it may not be sent."""
        order = self.get_object()
        with_conflicts(send_order, order=order, actor=request.user, **valid(VersionSerializer(data=request.data)))
        return Response(_whole(for_page().get(pk=order.pk)))

    @extend_schema(responses=OpenApiTypes.OBJECT)
    @action(detail=True, methods=["get"])
    def document(self, request: Request, **kwargs: Any) -> HttpResponse:
        """The frozen `lens-order/1`, byte for byte as it was sent."""
        return HttpResponse(stored_of(self.get_object()).text, content_type="application/json")

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    @action(detail=True, methods=["get"], renderer_classes=[JSONRenderer, PdfOrProblem])
    def pdf(self, request: Request, **kwargs: Any) -> HttpResponse:
        """The lab-order PDF as it was sent."""
        return HttpResponse(bytes(stored_of(self.get_object()).pdf), content_type="application/pdf")

    @extend_schema(request=NotedEventSerializer, responses={201: EventSerializer})
    @action(detail=True, methods=["post"])
    def events(self, request: Request, **kwargs: Any) -> Response:
        """Note what happened to a sent order."""
        order = self.get_object()
        if order.state != "sent":
            raise Conflict("Only an order that was sent and is in force can be followed.")
        told = valid(NotedEventSerializer(data=request.data))
        kind, note = EventKind(told["kind"]), told.get("note", "")
        event = with_conflicts(record_event, order=order, actor=request.user, kind=kind, note=note)
        return Response(EventSerializer(event).data, status=status.HTTP_201_CREATED)


def valid(serializer: Any) -> dict[str, Any]:
    serializer.is_valid(raise_exception=True)
    return dict(serializer.validated_data)


def with_conflicts(service: Any, **kwargs: Any) -> Any:
    """Run a service; its refusals that are about the state of the record become 409, about the person 403."""
    try:
        return service(**kwargs)
    except NotReady as refused:
        findings = [finding.message for finding in refused.findings]
        raise Conflict(str(refused), problems=list(refused.problems), findings=findings) from refused
    except NotRegistered as refused:
        raise PermissionDenied(str(refused)) from refused
    except SavedByAnother as refused:
        raise Conflict(str(refused), version=refused.current.version) from refused
    except (NotAllowed, NoSuchFinding) as refused:
        raise Conflict(str(refused)) from refused


def stored_of(order: Order) -> OrderDocument:
    stored = next(iter(order.documents.all()), None)
    if stored is None:
        raise Conflict("A draft has no frozen document yet.")
    return stored


def _whole(order: Order) -> dict[str, Any]:
    """The row, the document (frozen where there is one), the report on it, deliveries and events."""
    stored = next(iter(order.documents.all()), None)
    if stored:
        document, report = json.loads(stored.text), json.loads(stored.report)
    else:
        judgement = judge(order)
        document = judgement.document.model_dump(mode="json", exclude_unset=True)
        report = plain(judgement.report)
    return {
        **OrderRowSerializer(order).data,
        "version": order.version,
        "document": document,
        "sha256": stored.sha256 if stored else None,
        "report": report,
        "deliveries": DeliverySerializer(stored.deliveries.all() if stored else [], many=True).data,
        "events": EventSerializer(order.events.all(), many=True).data,
    }
