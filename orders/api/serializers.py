"""What orders look like as JSON. The order's content is its ``lens-order/1`` document, never a second format."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from dispensing.api.as_typed import Day, Figure, JudgedByForm, NoUnknownKeys, Word, Words
from dispensing.api.relations import ByPublicId
from dispensing.models import Fitting, Frame, Patient, Prescription
from dispensing.trade.facts import STANDARDS
from orders.api.documents import (
    CatalogueField,
    FrameOptionField,
    OptionField,
    OrderField,
    ReadingsField,
    ReportField,
    StockField,
    VerdictField,
)
from orders.forms.lenses import INSTRUCTION_CHOICES
from orders.models import Delivery, FinishedReading, Lab, Order, OrderEvent
from orders.models.finished_pairs import Result
from orders.progress import BY_HAND, BY_NOTE, BY_THE_LAB, EventKind, Place
from orders.states import OrderState

MOST_CATALOGUES = 20


class EventSerializer(serializers.ModelSerializer[OrderEvent]):
    """Something that happened to an order, as recorded."""

    kind = serializers.ChoiceField(choices=[str(kind) for kind in EventKind])
    job_number = serializers.CharField(read_only=True, help_text="The lab's own number for the job.")
    promised_on = serializers.DateField(read_only=True, allow_null=True, help_text="The day the lab promises.")
    tracking = serializers.CharField(read_only=True)
    actor: serializers.StringRelatedField[Any] = serializers.StringRelatedField(read_only=True, allow_null=True)
    registered: serializers.StringRelatedField[Any] = serializers.StringRelatedField(read_only=True, allow_null=True)

    class Meta:
        model = OrderEvent
        fields = ["kind", "at", "note", "job_number", "promised_on", "tracking", "actor", "registered"]
        read_only_fields = ["at"]


class NotedEventSerializer(NoUnknownKeys):
    """An event that people record. Sending, cancelling or superseding an order is recorded by the action itself."""

    kind = Word(choices=[(kind.value, BY_HAND[kind]) for kind in BY_NOTE])
    registered = Words(required=False, help_text="Sign-in name of the registered person who took part.")
    note = Words(required=False)
    job_number = Words(required=False, help_text="The lab's own number for the job.")
    promised_on = Day(required=False, help_text="The day the lab promises.")
    tracking = Words(required=False, help_text="Parcel number or link.")


class DeliverySerializer(serializers.ModelSerializer[Delivery]):
    """One way an order goes to its lab, with codes for programs and names beside them for people."""

    channel_name = serializers.CharField(source="get_channel_display", read_only=True)
    state_name = serializers.CharField(source="get_state_display", read_only=True)

    class Meta:
        model = Delivery
        fields = [
            "public_id",
            "channel",
            "channel_name",
            "state",
            "state_name",
            "attempts_made",
            "problem",
            "done_at",
        ]


class OrderRowSerializer(serializers.ModelSerializer[Order]):
    """An order in a list."""

    patient = ByPublicId(read_only=True)
    lab = ByPublicId(read_only=True)
    is_late = serializers.BooleanField(read_only=True)
    is_soon_late = serializers.BooleanField(read_only=True, help_text="Expected from the lab after it is needed.")

    class Meta:
        model = Order
        fields = [
            "public_id",
            "version",
            "number",
            "revision",
            "state",
            "place",
            "verdict",
            "place_since",
            "promised_on",
            "expected_on",
            "is_late",
            "is_soon_late",
            "patient",
            "lab",
            "needed_on",
            "sent_at",
        ]


class WholeOrderSerializer(OrderRowSerializer):
    """An order with its current document (frozen once sent), the report on it, and what has happened to it since."""

    document = OrderField()
    report = ReportField()
    sha256 = serializers.CharField(allow_null=True, help_text="Of the document's bytes; null while it is a draft.")
    deliveries = DeliverySerializer(many=True)
    events = EventSerializer(many=True)

    class Meta(OrderRowSerializer.Meta):
        fields = [*OrderRowSerializer.Meta.fields, "document", "sha256", "report", "deliveries", "events"]


class LensPartSerializer(NoUnknownKeys):
    """The keys of a lens in a ``lens-order/1`` that may be chosen. ``extra`` is accepted but ignored."""

    base_curve_d = Figure(allow_null=True, required=False)
    centre_thickness_mm = Figure(allow_null=True, required=False)
    design = Words(allow_null=True, required=False)
    material = Words(allow_null=True, required=False)
    treatments = serializers.ListField(
        child=serializers.CharField(max_length=60), allow_null=True, required=False, max_length=30
    )
    extra = serializers.DictField(allow_null=True, required=False)

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        values.pop("extra", None)
        return values


class OrderedPowerSerializer(NoUnknownKeys):
    """A power to be made, stated instead of left to prescription and use. The prism stays as prescribed."""

    sphere = Figure(required=False)
    cylinder = Figure(allow_null=True, required=False)
    axis = Figure(allow_null=True, required=False)


class EdgeSerializer(NoUnknownKeys):
    """How the edge is finished; what is left out is left to the lab."""

    polished = serializers.BooleanField(allow_null=True, required=False)
    bevel = Words(allow_null=True, required=False)


class DraftLensSerializer(LensPartSerializer):
    """A lens to be made, chosen from the lab's catalogue. Without ``power``, one stated before stays."""

    power = OrderedPowerSerializer(allow_null=True, required=False)

    edge = EdgeSerializer(allow_null=True, required=False)
    corridor_mm = Figure(allow_null=True, required=False)
    blank_mm = Figure(allow_null=True, required=False)
    colour = Words(allow_null=True, required=False)
    instruction = Word(
        choices=[(word, label) for word, label in INSTRUCTION_CHOICES if word], allow_null=True, required=False
    )


class DraftLensesSerializer(NoUnknownKeys):
    """The lenses of a draft. No lens is made for an eye that is null or left out."""

    right = DraftLensSerializer(allow_null=True, required=False)
    left = DraftLensSerializer(allow_null=True, required=False)


class DraftSerializer(JudgedByForm[Order]):
    """What can be chosen in a draft."""

    patient = ByPublicId(Patient)
    prescription = ByPublicId(Prescription, allow_null=True, required=False)
    frame = ByPublicId(Frame, allow_null=True, required=False)
    fitting = ByPublicId(Fitting, allow_null=True, required=False)
    lab = ByPublicId(Lab, allow_null=True, required=False)
    remake_of = ByPublicId(Order, allow_null=True, required=False)
    lenses = DraftLensesSerializer(required=False)
    kept_lens = LensPartSerializer(required=False, allow_null=True)
    registered = Words(
        allow_null=True, required=False, help_text="Sign-in name of the registered person who takes part."
    )

    class Meta:
        model = Order
        fields = [
            "patient",
            "prescription",
            "frame",
            "fitting",
            "lab",
            "remake_of",
            "remake_cause",
            "remake_whose",
            "lenses",
            "kept_lens",
            "use",
            "power_basis",
            "purpose",
            "registered",
            "other_pair",
            "supply",
            "priority",
            "frame_source",
            "needed_on",
            "remarks",
        ]


class NothingSerializer(NoUnknownKeys):
    """An empty body: the address and If-Match say everything."""


class SettleSerializer(NoUnknownKeys):
    """Confirms a question or lifts a stop, in the name of the token's owner."""

    rule = serializers.CharField(max_length=60)
    eye = serializers.ChoiceField(choices=["right", "left", "both"], allow_null=True, required=False)
    reason = serializers.CharField(required=False, allow_blank=True)


class AskedSerializer(serializers.Serializer[Any]):
    """The filters for a list of orders."""

    place = serializers.ChoiceField(choices=[str(place) for place in Place], required=False)
    state = serializers.ChoiceField(choices=[str(state) for state in OrderState], required=False)


class CheckSerializer(NoUnknownKeys):
    """Two complete documents: the order and the catalogue."""

    order = OrderField()
    catalogue = CatalogueField()


class VerifySerializer(NoUnknownKeys):
    """An order and the readings of the pair that was made to it."""

    order = OrderField()
    readings = ReadingsField()
    standard = serializers.ChoiceField(choices=STANDARDS, required=False)
    catalogue = CatalogueField(required=False, allow_null=True)


class NewReadingSerializer(NoUnknownKeys):
    """A reading of the finished pair, and what was seen of lenses and frame by point of the inspection."""

    readings = ReadingsField()
    inspection = serializers.DictField(child=serializers.DictField(), required=False)
    note = Words(required=False)


class FinishedReadingSerializer(serializers.ModelSerializer[FinishedReading]):
    """A stored reading with its verdict."""

    readings = ReadingsField()
    verdict = VerdictField()
    inspection = serializers.DictField(child=serializers.DictField())
    read_by: serializers.StringRelatedField[Any] = serializers.StringRelatedField()
    second_of = ByPublicId(read_only=True, allow_null=True)

    class Meta:
        model = FinishedReading
        fields = [
            "public_id",
            "readings",
            "standard",
            "verdict",
            "result",
            "inspection",
            "has_defects",
            "instrument",
            "note",
            "second_of",
            "read_at",
            "read_by",
        ]


class FinishedReadingsSerializer(serializers.Serializer[Any]):
    """How a finished pair stands: the worse result of first and second reader, null before anybody read it."""

    result = serializers.ChoiceField(choices=Result.values, allow_null=True)
    waits_for_second_reader = serializers.BooleanField()
    readings = FinishedReadingSerializer(many=True)


class ComparisonSerializer(NoUnknownKeys):
    """An order, and the catalogues whose lenses are compared for it."""

    order = OrderField()
    catalogues = serializers.ListField(child=CatalogueField(), min_length=1, max_length=MOST_CATALOGUES)
    only_makeable = serializers.BooleanField(required=False, default=False)


class OptionsSerializer(serializers.Serializer[Any]):
    """Every lens on offer, catalogue by catalogue."""

    options = serializers.ListField(child=OptionField())


class FrameComparisonSerializer(NoUnknownKeys):
    """An order with its lenses, the catalogue they are in, and the frames compared for it."""

    order = OrderField()
    catalogue = CatalogueField()
    stock = StockField()
    only_makeable = serializers.BooleanField(required=False, default=False)


class FrameOptionsSerializer(serializers.Serializer[Any]):
    """Every frame, in the sequence of the stock."""

    options = serializers.ListField(child=FrameOptionField())


class LabEventSerializer(NoUnknownKeys):
    """What a lab may report about an order."""

    kind = Word(choices=[(kind.value, BY_HAND[kind]) for kind in BY_THE_LAB])
    note = Words(required=False, help_text="The question of a query, the reason of a refusal.")
    job_number = Words(required=False, help_text="The lab's own number for the job.")
    promised_on = Day(required=False, help_text="The day the lab promises.")
    tracking = Words(required=False, help_text="Parcel number or link.")


class ReportSerializer(NoUnknownKeys):
    """Which order a signed post is about, and what is said of it."""

    number = serializers.CharField(max_length=20)
    revision = serializers.IntegerField(min_value=1)
    note = Words(required=False)
    job_number = Words(required=False)
    promised_on = Day(required=False)
    tracking = Words(required=False)


class CallbackSerializer(NoUnknownKeys):
    """What a lab posts, as Standard Webhooks has it."""

    type = serializers.ChoiceField(choices=[f"lens_order.{kind.value}" for kind in BY_THE_LAB])
    timestamp = serializers.DateTimeField()
    # ``data`` is the scheme's own name.
    data = ReportSerializer()  # type: ignore[assignment]  # the library's attribute of that name is what was validated


class TurnSerializer(serializers.ModelSerializer[OrderEvent]):
    """A turn of the conversation between practice and lab about an order."""

    kind = serializers.ChoiceField(choices=[str(kind) for kind in (*BY_THE_LAB, EventKind.ANSWER)])
    job_number = serializers.CharField(read_only=True)
    promised_on = serializers.DateField(read_only=True, allow_null=True)
    tracking = serializers.CharField(read_only=True)

    class Meta:
        model = OrderEvent
        fields = ["kind", "at", "note", "job_number", "promised_on", "tracking"]
        read_only_fields = ["at", "note"]


class ChangedSinceSerializer(serializers.Serializer[Any]):
    """The filter of a lab that asks from time to time."""

    changed_since = serializers.DateTimeField(
        required=False, help_text="Orders that something happened to since then. Overlap by a minute."
    )


class LabOrderSerializer(serializers.ModelSerializer[Order]):
    """An order in a lab's own list. Nothing identifies the patient but the reference in the document.

    A state of `cancelled` or `superseded` means: not to be made. Report `acknowledged`.
    """

    changed_at = serializers.DateTimeField(source="moved_at", read_only=True, allow_null=True)
    conversation = TurnSerializer(source="turns", many=True, read_only=True)

    class Meta:
        model = Order
        fields = [
            "public_id",
            "number",
            "revision",
            "state",
            "place",
            "needed_on",
            "promised_on",
            "sent_at",
            "changed_at",
            "conversation",
        ]
