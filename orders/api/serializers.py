"""What orders look like as JSON. The order's content is its ``lens-order/1`` document, never a second format."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from dispensing.models import Fitting, Frame, Patient, Prescription
from orders.models import Delivery, Lab, Order, OrderEvent
from orders.progress import EventKind

LENS_HELP = "As `lenses` in lens-order/1."


def _chosen(model: Any, **kwargs: Any) -> serializers.SlugRelatedField:
    return serializers.SlugRelatedField(slug_field="public_id", queryset=model.objects.all(), **kwargs)


class EventSerializer(serializers.ModelSerializer):
    kind = serializers.ChoiceField(choices=[str(kind) for kind in EventKind])
    actor = serializers.StringRelatedField(read_only=True)

    class Meta:
        model = OrderEvent
        fields = ["kind", "at", "note", "actor"]
        read_only_fields = ["at"]


class DeliverySerializer(serializers.ModelSerializer):
    class Meta:
        model = Delivery
        fields = ["public_id", "channel", "state", "attempts_made", "problem", "done_at"]


class OrderRowSerializer(serializers.ModelSerializer):
    """An order in a list."""

    patient = serializers.SlugRelatedField(slug_field="public_id", read_only=True)
    lab = serializers.SlugRelatedField(slug_field="public_id", read_only=True)
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


class DraftSerializer(serializers.ModelSerializer):
    """What may be chosen of a draft. ``version``: the count of saves this change is based on."""

    patient = _chosen(Patient)
    prescription = _chosen(Prescription, allow_null=True, required=False)
    frame = _chosen(Frame, allow_null=True, required=False)
    fitting = _chosen(Fitting, allow_null=True, required=False)
    lab = _chosen(Lab, allow_null=True, required=False)
    remake_of = serializers.SlugRelatedField(
        slug_field="public_id", queryset=Order.objects.all(), allow_null=True, required=False
    )
    lenses = serializers.JSONField(required=False, help_text=LENS_HELP)
    kept_lens = serializers.JSONField(required=False, allow_null=True)
    version = serializers.IntegerField(required=False)

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


class SettleSerializer(serializers.Serializer):
    """A question confirmed or a stop lifted, in the name of the token's owner."""

    rule = serializers.CharField(max_length=60)
    eye = serializers.ChoiceField(choices=["right", "left", "both"], allow_null=True, required=False)
    reason = serializers.CharField(max_length=300, required=False, allow_blank=True)
    version = serializers.IntegerField()


class VersionSerializer(serializers.Serializer):
    version = serializers.IntegerField()


class CheckSerializer(serializers.Serializer):
    """Two documents, whole."""

    order = serializers.JSONField(help_text="A lens-order/1 document.")
    catalogue = serializers.JSONField(help_text="A lens-catalogue/1 document.")


class LabEventSerializer(serializers.Serializer):
    """What a lab may tell of an order."""

    kind = serializers.ChoiceField(choices=["accepted", "query", "delayed", "dispatched"])
    note = serializers.CharField(max_length=500, required=False, allow_blank=True)


class LabOrderSerializer(serializers.ModelSerializer):
    """An order in a lab's own list: no patient but the reference in the document."""

    class Meta:
        model = Order
        fields = ["public_id", "number", "revision", "state", "place", "needed_on", "sent_at"]
