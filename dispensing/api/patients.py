"""Patients over the API. A search goes by POST: names and birth dates never stand in an address or a log."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from dispensing.api.as_typed import JudgedByForm, NoUnknownKeys, refuse, typed, yes_or_no
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.forms.fields import month_first
from dispensing.forms.patients import PatientForm
from dispensing.models import Patient
from dispensing.queries.duplicates import possible_duplicates
from dispensing.queries.patients import find_patients
from dispensing.roles import Ability
from dispensing.services.patients import OWNED_FIELDS, correct_patient, register_patient

MOST_FOUND = 50


class PatientSerializer(JudgedByForm[Patient]):
    """A patient. ``although_similar_to``: references of similar patients that were looked at and are others."""

    although_similar_to = serializers.ListField(
        child=serializers.CharField(max_length=20), write_only=True, required=False, max_length=50
    )

    class Meta:
        model = Patient
        fields = ["public_id", "reference", *OWNED_FIELDS, "last_seen_on", "although_similar_to"]
        read_only_fields = ["public_id", "reference", "last_seen_on"]

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        similar = values.pop("although_similar_to", [])
        known = {name: getattr(self.instance, name) for name in OWNED_FIELDS} if self.instance else {}
        form = PatientForm(typed(_drives(known | values)), instance=self.instance or Patient())
        refuse(form)
        return {**form.cleaned_data, "although_similar_to": similar}


def _drives(values: dict[str, Any]) -> dict[str, Any]:
    return {**values, "driver": yes_or_no(values.get("driver"))}


class FindSerializer(NoUnknownKeys):
    text = serializers.CharField(max_length=200)


class PatientViewSet(
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    mixins.CreateModelMixin,
    mixins.UpdateModelMixin,
    GenericViewSet[Patient],
):
    """Patients, newest first, 50 a page."""

    queryset = Patient.objects.order_by("-pk")
    serializer_class = PatientSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"
    http_method_names = ["get", "post", "patch", "head", "options"]
    access_by_action = {
        "list": (Ability.PATIENT_VIEW,),
        "retrieve": (Ability.PATIENT_VIEW,),
        "find": (Ability.PATIENT_VIEW,),
        "create": (Ability.PATIENT_EDIT,),
        "partial_update": (Ability.PATIENT_EDIT,),
        "metadata": (Ability.PATIENT_VIEW,),
    }

    def perform_create(self, serializer: serializers.BaseSerializer[Patient]) -> None:
        fields = dict(serializer.validated_data)
        although = tuple(fields.pop("although_similar_to"))
        names = {name: fields[name] for name in ("family_name", "given_names", "born_on", "phone")}
        similar = {patient.reference for patient in possible_duplicates(**names)} - set(although)
        if similar:
            listed = ", ".join(sorted(similar))
            asked = f"May be the same person as {listed}. Name them here if this is another person."
            raise serializers.ValidationError({"although_similar_to": asked})
        serializer.instance = register_patient(actor=caller(self.request), although_similar_to=although, **fields)

    def perform_update(self, serializer: serializers.BaseSerializer[Patient]) -> None:
        fields = dict(serializer.validated_data)
        fields.pop("although_similar_to")
        assert serializer.instance is not None
        stored = Patient.objects.get(pk=serializer.instance.pk)
        serializer.instance = correct_patient(actor=caller(self.request), patient=stored, **fields)

    @extend_schema(request=FindSerializer, responses=PatientSerializer(many=True))
    @action(detail=False, methods=["post"], pagination_class=None)
    def find(self, request: Request) -> Response:
        """Find by any part of a name, a birth date, a phone number or a reference; the first 50."""
        asked = FindSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        found = find_patients(asked.validated_data["text"], month_first())[:MOST_FOUND]
        return Response(PatientSerializer(found, many=True).data)
