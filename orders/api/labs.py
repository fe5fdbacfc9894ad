"""A lab's own view: the orders sent to it, their documents, and what the lab reports about them."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from dispensing.access import requires
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.roles import Ability
from orders.api.refusals import noted, with_conflicts
from orders.api.sent_documents import SentDocuments
from orders.api.serializers import EventSerializer, LabEventSerializer, LabOrderSerializer
from orders.models import Order
from orders.progress import BY_THE_LAB
from orders.services.events import record_event
from orders.states import OrderState


@requires(Ability.LAB_API)
class LabOrderViewSet(SentDocuments, mixins.ListModelMixin, mixins.RetrieveModelMixin, GenericViewSet[Order]):
    """Orders that were sent to the lab this token belongs to. Any other order is answered as not found."""

    queryset = Order.objects.none()
    serializer_class = LabOrderSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"

    def get_queryset(self) -> Any:
        sent = Order.objects.exclude(sent_at=None).exclude(state=OrderState.DRAFT)
        return sent.filter(lab__users__user=caller(self.request)).order_by("-pk")

    @extend_schema(request=LabEventSerializer, responses={201: EventSerializer})
    @action(detail=True, methods=["post"])
    def events(self, request: Request, **kwargs: Any) -> Response:
        """Report an order accepted, queried, delayed or dispatched. If that cannot come next, 409 lists what can."""
        order = self.get_object()
        told = noted(LabEventSerializer(data=request.data), BY_THE_LAB)
        event = with_conflicts(record_event, order=order, actor=caller(request), **told)
        return Response(EventSerializer(event).data, status=status.HTTP_201_CREATED)
