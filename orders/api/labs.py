"""A lab's own view: the orders sent to it, their documents, and what the lab reports about them."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import mixins, status
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from dispensing.access import requires
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.models import StaffUser
from dispensing.roles import Ability
from orders.api.refusals import noted, valid, with_conflicts
from orders.api.sent_documents import SentDocuments
from orders.api.serializers import ChangedSinceSerializer, EventSerializer, LabEventSerializer, LabOrderSerializer
from orders.models import Order
from orders.models.deliveries import Message
from orders.progress import BY_THE_LAB
from orders.queries import orders_of_lab
from orders.sending.by_hand import note_fetched
from orders.services.lab_reports import hear

KEY_HEADER = "Idempotency-Key"
LONGEST_KEY = 100


@requires(Ability.LAB_API)
class LabOrderViewSet(SentDocuments, mixins.ListModelMixin, mixins.RetrieveModelMixin, GenericViewSet[Order]):
    """Orders that were sent to the lab this token belongs to. Any other order is answered as not found."""

    queryset = Order.objects.none()
    serializer_class = LabOrderSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"

    narrowed_by = ("changed_since",)

    def get_queryset(self) -> Any:
        orders = orders_of_lab(caller(self.request))
        if self.action == "list":
            asked = valid(ChangedSinceSerializer(data=self.request.query_params))
            orders = orders.filter(**({"moved_at__gte": asked["changed_since"]} if asked else {}))
        return orders.order_by("-pk")

    @extend_schema(parameters=[ChangedSinceSerializer])
    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """With `changed_since`, only orders that something happened to since then: sent, withdrawn or answered."""
        return super().list(request, *args, **kwargs)

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """One order with the conversation about it. Whatever waited for the lab to ask is now with it."""
        order = self.get_object()
        note_fetched(order, caller(request), (Message.WITHDRAWAL, Message.ANSWER))
        return Response(self.get_serializer(order).data)

    def handed_out(self, order: Order) -> None:
        """Fetching the document, as JSON or as PDF, says that the lab has the order."""
        note_fetched(order, caller(self.request), (Message.ORDER,))

    @extend_schema(
        request=LabEventSerializer,
        responses={200: EventSerializer, 201: EventSerializer},
        parameters=[OpenApiParameter(KEY_HEADER, str, "header", description="One report is noted once a key.")],
    )
    @action(detail=True, methods=["post"])
    def events(self, request: Request, **kwargs: Any) -> Response:
        """Report what happens to an order: accepted with job number and day, query, delayed, refused, dispatched, or
        that it is known not to be made. If that cannot come next, 409 lists what can; do not send it again.

        With an `Idempotency-Key` a report that comes again is answered as the first time (200); 422 for another one
        under the same key.
        """
        order = self.get_object()
        told = noted(LabEventSerializer(data=request.data), BY_THE_LAB)
        return reported(order, caller(request), _key(request), told)


def reported(order: Order, actor: StaffUser, key: str, told: dict[str, Any]) -> Response:
    """Note what a lab reports, and answer it: 201, or 200 if it had been noted before."""
    event, before = with_conflicts(hear, order=order, actor=actor, key=key, **told)
    return Response(EventSerializer(event).data, status=status.HTTP_200_OK if before else status.HTTP_201_CREATED)


def _key(request: Request) -> str:
    key = str(request.headers.get(KEY_HEADER, "")).strip()
    if len(key) > LONGEST_KEY or not key.isprintable():
        raise ValidationError({KEY_HEADER: f"A key has at most {LONGEST_KEY} characters."})
    return key
