"""Fittings over the API, judged as the sheet on the page judges typed figures; and the measuring of marked photos."""

from __future__ import annotations

import json
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView
from rest_framework.viewsets import GenericViewSet

from dispensing.access import requires
from dispensing.api.as_typed import (
    Faults,
    Figure,
    JudgedByForm,
    NoUnknownKeys,
    Word,
    faults_in_document,
    faults_of,
    refuse,
)
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.api.relations import ByPublicId
from dispensing.api.versioned_views import WithVersion
from dispensing.documents import InvalidDocument
from dispensing.fitting.command import plain
from dispensing.fitting.documents import parse_points
from dispensing.fitting.several import measure_sheet
from dispensing.forms.fittings import FittingForm, Sheet
from dispensing.forms.typed import plain_number, typed
from dispensing.models import Fitting, Frame, Patient
from dispensing.models.fittings import FOR_THE_PAIR, PER_EYE, MeasuredEye, Method, Quantity
from dispensing.queries.fittings import fittings
from dispensing.queries.limits import limits_in_force
from dispensing.queries.prescribed_powers import horizontal_powers
from dispensing.roles import Ability
from dispensing.services.fittings import FittingRefused, record_fitting

# The schemas of the two documents, listed among the components of the description.
POINTS = {"$ref": "#/components/schemas/fitting-points-1"}
FITTING = {"$ref": "#/components/schemas/fitting-1"}
MOST_FIGURES = len(PER_EYE) * 2 + len(FOR_THE_PAIR)
DETAILS = ("measured_on", "pre_adjusted", "near_distance_mm", "notes")


class FigureSerializer(NoUnknownKeys):
    """One figure. Send its single readings; the answer gives their mean and its ± (95 %).

    ``method``: if left out, the usual one for the figure. Both eyes are measured by the same method.
    """

    quantity = serializers.ChoiceField(choices=Quantity.choices)
    eye = serializers.ChoiceField(choices=MeasuredEye.choices)
    method = Word(choices=Method.choices, required=False)
    readings = serializers.ListField(child=Figure(), min_length=1, max_length=20)
    value = serializers.FloatField(read_only=True)
    plus_minus = serializers.FloatField(read_only=True, allow_null=True)
    taken_by: serializers.StringRelatedField[Any] = serializers.StringRelatedField(read_only=True, allow_null=True)

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        of_the_pair = values["quantity"] in FOR_THE_PAIR
        if of_the_pair != (values["eye"] == MeasuredEye.BOTH):
            wanted = "both" if of_the_pair else "right or left"
            raise serializers.ValidationError({"eye": f"This figure is taken for {wanted}."})
        return values

    def to_representation(self, instance: Any) -> dict[str, Any]:
        shown = super().to_representation(instance)
        return {**shown, "readings": shown["readings"] or [float(instance.value)]}


class FittingSerializer(JudgedByForm[Fitting]):
    patient = ByPublicId(Patient)
    frame = ByPublicId(Frame)
    measurements = FigureSerializer(many=True)
    measured_in_this_frame = serializers.BooleanField(read_only=True)

    class Meta:
        model = Fitting
        fields = ["public_id", "version", "patient", "frame", *DETAILS, "measurements", "measured_in_this_frame"]
        read_only_fields = ["public_id", "version"]

    def validate_measurements(self, figures: list[dict[str, Any]]) -> list[dict[str, Any]]:
        places = [(figure["quantity"], figure["eye"]) for figure in figures]
        if not figures or len(figures) > MOST_FIGURES or len(set(places)) != len(places):
            raise serializers.ValidationError("Each figure once, at least one.")
        return figures

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        patient, frame, figures = values["patient"], values["frame"], values["measurements"]
        user = self.context["request"].user
        details = {name: values.get(name) for name in DETAILS}
        sheet = Sheet(patient, frame, horizontal_powers(patient))
        form = FittingForm(typed({**details, "taken_by": user.pk, **_on_the_sheet(figures)}), sheet=sheet, user=user)
        refuse(_methods_that_differ(figures) | faults_of(form, names=_paths(figures)))
        details = {name: form.cleaned_data[name] for name in DETAILS}
        return {"patient": patient, "frame": frame, "figures": form.figures(), **details}


def _on_the_sheet(figures: list[dict[str, Any]]) -> dict[str, str]:
    """The figures in the fields of the page's sheet: ``pd_mm-right``, ``pd_mm-method``."""
    fields = {}
    for figure in figures:
        readings = [one if isinstance(one, str) else plain_number(one) for one in figure["readings"]]
        fields[f"{figure['quantity']}-{figure['eye']}"] = " ".join(readings)
        if figure.get("method"):
            fields.setdefault(f"{figure['quantity']}-method", figure["method"])
    return fields


def _paths(figures: list[dict[str, Any]]) -> dict[str, str]:
    """The JSON path that each field of the sheet comes from."""
    paths = {"__all__": "measurements"}
    for place, figure in enumerate(figures):
        paths[f"{figure['quantity']}-{figure['eye']}"] = f"measurements[{place}].readings"
        if figure.get("method"):
            paths.setdefault(f"{figure['quantity']}-method", f"measurements[{place}].method")
    return paths


def _methods_that_differ(figures: list[dict[str, Any]]) -> Faults:
    named = [(place, figure) for place, figure in enumerate(figures) if figure.get("method")]
    first: dict[str, str] = {}
    return {
        f"measurements[{place}].method": ["Both eyes are taken by one method, as on the sheet."]
        for place, figure in named
        if first.setdefault(figure["quantity"], figure["method"]) != figure["method"]
    }


class FittingViewSet(
    WithVersion, mixins.ListModelMixin, mixins.RetrieveModelMixin, mixins.CreateModelMixin, GenericViewSet[Fitting]
):
    """Fittings, newest first, 50 a page."""

    queryset = fittings().order_by("-pk")
    serializer_class = FittingSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"
    access_by_action = {
        "list": (Ability.PATIENT_VIEW,),
        "retrieve": (Ability.PATIENT_VIEW,),
        "create": (Ability.FITTING_EDIT,),
        "metadata": (Ability.PATIENT_VIEW,),
    }

    def perform_create(self, serializer: serializers.BaseSerializer[Fitting]) -> None:
        try:
            stored = record_fitting(actor=caller(self.request), **serializer.validated_data)
        except FittingRefused as refused:
            raise serializers.ValidationError({"frame": str(refused)}) from refused
        serializer.instance = self.get_queryset().get(pk=stored.pk)


@requires(Ability.FITTING_EDIT)
class MeasureView(APIView):
    """Marks on photos (``fitting-points/1``) in, measurements with their ± (``fitting/1``) out. Nothing is stored."""

    only_reads = True

    @extend_schema(request={"application/json": POINTS}, responses={200: FITTING})
    def post(self, request: Request) -> Response:
        try:
            points = parse_points(json.dumps(request.data))
        except InvalidDocument as refused:
            raise serializers.ValidationError(faults_in_document(refused)) from refused
        return Response(plain(measure_sheet((points,), limits_in_force()).fitting))
