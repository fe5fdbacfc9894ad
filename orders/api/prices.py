"""The practice's own price list over the API: taken in, looked at, then taken into use or put back."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from dispensing.access import requires
from dispensing.api.as_typed import NoUnknownKeys
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.roles import Ability
from orders.api.refusals import valid
from orders.api.serializers import NothingSerializer
from orders.documents.price_list import OwnPrice
from orders.models import PriceList
from orders.services.price_looks import look_at_prices
from orders.services.prices import FaultyPrices, take_in_prices, use_prices


class PriceListSerializer(serializers.ModelSerializer[PriceList]):
    """A price list as it is kept."""

    class Meta:
        model = PriceList
        fields = ["public_id", "sha256", "in_use", "loaded_at", "used_at", "text"]
        read_only_fields = fields


class OwnPriceSerializer(serializers.Serializer[Any]):
    """One row of a list. ``amount`` is text, so that no cent is lost."""

    line = serializers.IntegerField()
    lens = serializers.CharField(source="named")
    amount = serializers.SerializerMethodField()
    currency = serializers.CharField()

    def get_amount(self, row: OwnPrice) -> str:
        return str(row.amount)


class ChangedPriceSerializer(serializers.Serializer[Any]):
    """A row that prices the same otherwise."""

    before = OwnPriceSerializer()
    now = OwnPriceSerializer()


class PriceLookSerializer(serializers.Serializer[Any]):
    """A list beside the one in use. ``pointless``: rows that price nothing that a catalogue in use offers."""

    prices = PriceListSerializer()
    beside = serializers.UUIDField(source="beside.public_id", allow_null=True, default=None)
    rows = serializers.IntegerField()
    gone = OwnPriceSerializer(many=True)
    changed = serializers.SerializerMethodField()
    new = OwnPriceSerializer(many=True)
    pointless = OwnPriceSerializer(many=True)

    @extend_schema_field(ChangedPriceSerializer(many=True))
    def get_changed(self, look: Any) -> Any:
        return ChangedPriceSerializer([{"before": old, "now": new} for old, new in look.changed], many=True).data


class GivenPricesSerializer(NoUnknownKeys):
    """The text of the CSV file."""

    csv = serializers.CharField(trim_whitespace=False)


@requires(Ability.LAB_EDIT)
class PriceListViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, GenericViewSet[PriceList]):
    """The practice's own price lists, newest first; a stored one never changes."""

    queryset = PriceList.objects.all()
    serializer_class = PriceListSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"

    @extend_schema(responses=PriceLookSerializer)
    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Look at it: what differs from the list in use, and which rows price nothing on offer."""
        return Response(PriceLookSerializer(look_at_prices(self.get_object())).data)

    @extend_schema(request=GivenPricesSerializer, responses={201: PriceLookSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Take a list in to be looked at; 400 names every faulty row, and then nothing is kept. It is not used yet."""
        given = valid(GivenPricesSerializer(data=request.data))
        try:
            taken = take_in_prices(content=given["csv"].encode(), actor=caller(request))
        except FaultyPrices as refused:
            raise ValidationError({"csv": [str(fault) for fault in refused.faults]}) from refused
        return Response(PriceLookSerializer(look_at_prices(taken)).data, status=status.HTTP_201_CREATED)

    @extend_schema(request=NothingSerializer, responses=PriceLookSerializer)
    @action(detail=True, methods=["post"])
    def use(self, request: Request, **kwargs: Any) -> Response:
        """Take it into use, or put it back."""
        valid(NothingSerializer(data=request.data))
        used = use_prices(prices=self.get_object(), actor=caller(request))
        return Response(PriceLookSerializer(look_at_prices(used)).data)
