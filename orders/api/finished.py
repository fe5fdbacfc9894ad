"""The finished pair over the API: decisions on it, its hand-over and what comes after, judged by the pages' forms."""

from __future__ import annotations

from typing import Any

from django.forms import Form
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from dispensing.api.as_typed import Day, NoUnknownKeys, Word, Words, faults_of, refuse
from dispensing.api.reading import caller
from dispensing.forms.typed import typed
from orders.api.refusals import Conflict, valid, with_conflicts
from orders.api.serializers import EventSerializer
from orders.causes import CAUSE_CHOICES, WHOSE_CHOICES
from orders.finished_queries import document_of
from orders.forms.aftercare import AftercareForm
from orders.forms.deciding import DecisionForm
from orders.forms.handing_over import HandOverForm
from orders.models import OrderEvent
from orders.models.aftercare import Collector, Fit, Part, PatientsCopy
from orders.progress import AFTERCARE, BY_HAND, DECISIONS
from orders.services.aftercare import note_aftercare
from orders.services.deciding import decide
from orders.services.handing_over import hand_over
from orders.supplying.cautions import told_to_the_wearer

REGISTERED = "Sign-in name of the registered person who took part."


class DecisionSerializer(NoUnknownKeys):
    """What becomes of a pair that is not as it should be. One that is as ordered is noted as `passed`."""

    kind = Word(choices=[(kind.value, BY_HAND[kind]) for kind in DECISIONS])
    cause = Word(choices=CAUSE_CHOICES)
    reason = Words()
    allowed_by = Words(required=False, help_text="For a concession: sign-in name of the dispenser or manager.")
    patient_told = serializers.BooleanField(required=False)
    order_again = serializers.BooleanField(required=False, help_text="For a returned pair: begin a remake.")
    registered = Words(required=False, help_text=REGISTERED)


class DecidedSerializer(serializers.Serializer[Any]):
    """The event, and the remake that the decision began."""

    event = EventSerializer()
    remake = serializers.UUIDField(allow_null=True)


class HandOverSerializer(NoUnknownKeys):
    """The hand-over. `reference` and `born_on` are as the person collecting says them, and must be the patient's."""

    reference = Words()
    born_on = Day()
    given_to = Word(choices=Collector.choices)
    collector_name = Words(required=False)
    fit = Word(choices=Fit.choices)
    acuity = Words(required=False)
    cautions = serializers.ListField(child=serializers.CharField(), required=False, max_length=30)
    care_given = serializers.BooleanField(required=False)
    patients_copy = Word(choices=PatientsCopy.choices)
    next_test_on = Day(required=False, allow_null=True)
    follow_up_on = Day(required=False, allow_null=True)
    registered = Words(required=False, help_text=REGISTERED)
    note = Words(required=False)


class AftercareSerializer(NoUnknownKeys):
    """An adjustment, a repair, or a complaint in the wearer's words."""

    kind = Word(choices=[(kind.value, BY_HAND[kind]) for kind in AFTERCARE])
    part = Word(choices=Part.choices, required=False)
    done = Words(required=False)
    words = Words(required=False)
    findings = Words(required=False)
    cause = Word(choices=CAUSE_CHOICES, required=False)
    whose = Word(choices=WHOSE_CHOICES, required=False)


class FinishedPairs:
    """Mix this into a view set of orders. Each answers 409, and says what may be noted, if it cannot come next."""

    get_object: Any

    @extend_schema(request=DecisionSerializer, responses={201: DecidedSerializer})
    @action(detail=True, methods=["post"])
    def decisions(self, request: Request, **kwargs: Any) -> Response:
        """Decide on a pair that came in and is not as it should be."""
        order = self.get_object()
        told = _judged(DecisionForm(typed(valid(DecisionSerializer(data=request.data))), may=DECISIONS))
        event, remake = with_conflicts(decide, order=order, actor=caller(request), **told)
        begun = remake.public_id if remake else None
        shown = {"event": EventSerializer(event).data, "remake": begun}
        return Response(shown, status=status.HTTP_201_CREATED)

    @extend_schema(request=HandOverSerializer, responses={201: EventSerializer})
    @action(detail=True, methods=["post"], url_path="hand-overs")
    def hand_overs(self, request: Request, **kwargs: Any) -> Response:
        """Hand the pair over."""
        order = self.get_object()
        document = document_of(order)
        if document is None:
            raise Conflict("A draft has no pair to hand over.")
        values = typed(valid(HandOverSerializer(data=request.data)))
        told = _judged(HandOverForm(values, cautions=told_to_the_wearer(document)))
        return _event(with_conflicts(hand_over, order=order, actor=caller(request), **told).event)

    @extend_schema(request=AftercareSerializer, responses={201: EventSerializer})
    @action(detail=True, methods=["post"])
    def aftercare(self, request: Request, **kwargs: Any) -> Response:
        """Note what came after the hand-over."""
        order = self.get_object()
        told = _judged(AftercareForm(typed(valid(AftercareSerializer(data=request.data)))))
        return _event(with_conflicts(note_aftercare, order=order, actor=caller(request), **told).event)


def _judged(form: Form) -> dict[str, Any]:
    refuse(faults_of(form))
    return dict(form.cleaned_data)


def _event(event: OrderEvent) -> Response:
    return Response(EventSerializer(event).data, status=status.HTTP_201_CREATED)
