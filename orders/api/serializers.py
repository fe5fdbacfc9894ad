"""What orders look like as JSON. The order's content is its ``lens-order/1`` document, never a second format."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from rest_framework import serializers

from dispensing.api.as_typed import NoUnknownKeys
from dispensing.api.relations import ByPublicId
from dispensing.models import Fitting, Frame, Patient, Prescription
from orders.api.documents import CatalogueField, KeptLensField, LensesField, OrderField, ReportField
from orders.forms.job import require_day_to_come
from orders.models import Delivery, Lab, Order, OrderEvent
from orders.progress import BY_HAND, BY_THE_LAB, EventKind, Place
from orders.states import OrderState

LARGEST_COUNT = 2**31 - 1


def _version(**kwargs: Any) -> serializers.IntegerField:
    return serializers.IntegerField(min_value=0, max_value=LARGEST_COUNT, **kwargs)


def no_null_characters(value: Any) -> None:
    """PostgreSQL keeps no NUL in JSON, and no text of an order holds one."""
    if "\\u0000" in json.dumps(value):
        raise serializers.ValidationError("Null characters are not allowed.")


class EventSerializer(serializers.ModelSerializer[OrderEvent]):
    """Something that happened to an order, as it is on record."""

    kind = serializers.ChoiceField(choices=[str(kind) for kind in EventKind])
    actor: serializers.StringRelatedField[Any] = serializers.StringRelatedField(read_only=True, allow_null=True)

    class Meta:
        model = OrderEvent
        fields = ["kind", "at", "note", "actor"]
        read_only_fields = ["at"]


class NotedEventSerializer(NoUnknownKeys):
    """What people note; that an order was sent, cancelled or superseded is noted by the action itself."""

    kind = serializers.ChoiceField(choices=[(kind.value, label) for kind, label in BY_HAND.items()])
    note = serializers.CharField(max_length=500, required=False, allow_blank=True)


class DeliverySerializer(serializers.ModelSerializer[Delivery]):
    class Meta:
        model = Delivery
        fields = ["public_id", "channel", "state", "attempts_made", "problem", "done_at"]


class OrderRowSerializer(serializers.ModelSerializer[Order]):
    """An order in a list."""

    patient = ByPublicId(read_only=True)
    lab = ByPublicId(read_only=True)
    is_late = serializers.BooleanField(read_only=True)

    class Meta:
        model = Order
        fields = [
            "public_id",
            "number",
            "revision",
            "state",
            "place",
            "verdict",
            "is_late",
            "patient",
            "lab",
            "needed_on",
            "sent_at",
        ]


class WholeOrderSerializer(OrderRowSerializer):
    """An order with its document as it stands (frozen once it was sent), the report on it, and what became of it."""

    document = OrderField()
    report = ReportField()
    sha256 = serializers.CharField(allow_null=True, help_text="Of the document's bytes; null while it is a draft.")
    deliveries = DeliverySerializer(many=True)
    events = EventSerializer(many=True)

    class Meta(OrderRowSerializer.Meta):
        fields = [*OrderRowSerializer.Meta.fields, "version", "document", "sha256", "report", "deliveries", "events"]


class DraftSerializer(NoUnknownKeys, serializers.ModelSerializer[Order]):
    """What may be chosen of a draft. ``version``: the count of saves this change is based on."""

    patient = ByPublicId(Patient)
    prescription = ByPublicId(Prescription, allow_null=True, required=False)
    frame = ByPublicId(Frame, allow_null=True, required=False)
    fitting = ByPublicId(Fitting, allow_null=True, required=False)
    lab = ByPublicId(Lab, allow_null=True, required=False)
    remake_of = ByPublicId(Order, allow_null=True, required=False)
    lenses = LensesField(required=False, validators=[no_null_characters])
    kept_lens = KeptLensField(required=False, allow_null=True, validators=[no_null_characters])
    version = _version(required=False)

    class Meta:
        model = Order
        fields = [
            "patient",
            "prescription",
            "frame",
            "fitting",
            "lab",
            "remake_of",
            "lenses",
            "kept_lens",
            "purpose",
            "other_pair",
            "supply",
            "frame_source",
            "needed_on",
            "remarks",
            "version",
        ]

    def validate_needed_on(self, day: date | None) -> date | None:
        return require_day_to_come(day)

    def validate_remake_of(self, original: Order | None) -> Order | None:
        if original is not None and original.sent_at is None:
            raise serializers.ValidationError(f"Order {original.number} was never sent, so it cannot be made again.")
        return original


class SettleSerializer(NoUnknownKeys):
    """A question confirmed or a stop lifted, in the name of the token's owner."""

    rule = serializers.CharField(max_length=60)
    eye = serializers.ChoiceField(choices=["right", "left", "both"], allow_null=True, required=False)
    reason = serializers.CharField(required=False, allow_blank=True)
    version = _version()


class VersionSerializer(NoUnknownKeys):
    version = _version()


class AskedSerializer(serializers.Serializer[Any]):
    """What a list of orders is narrowed by."""

    place = serializers.ChoiceField(choices=[str(place) for place in Place], required=False)
    state = serializers.ChoiceField(choices=[str(state) for state in OrderState], required=False)


class CheckSerializer(NoUnknownKeys):
    """Two documents, whole."""

    order = OrderField()
    catalogue = CatalogueField()


class LabEventSerializer(NoUnknownKeys):
    """What a lab may tell of an order."""

    kind = serializers.ChoiceField(choices=[(kind.value, BY_HAND[kind]) for kind in BY_THE_LAB])
    note = serializers.CharField(max_length=500, required=False, allow_blank=True)


class LabOrderSerializer(serializers.ModelSerializer[Order]):
    """An order in a lab's own list: no patient but the reference in the document."""

    class Meta:
        model = Order
        fields = ["public_id", "number", "revision", "state", "place", "needed_on", "sent_at"]
