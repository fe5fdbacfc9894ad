"""Patients over the API. A search goes by POST: names and birth dates never appear in an address or a log."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from dispensing.api.as_typed import JudgedByForm, NoUnknownKeys, faults_of, refuse
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.api.versioned_views import WithVersion
from dispensing.forms.patients import ASKED, PatientForm
from dispensing.forms.typed import typed, usual, yes_or_no
from dispensing.models import Patient
from dispensing.queries.finding import LONGEST_SEARCH, find
from dispensing.reading_trace import shown_in_list
from dispensing.roles import Ability
from dispensing.services.patients import OWNED_FIELDS, SeemsRegistered, correct_patient, register_patient

MOST_FOUND = 50


class PatientSerializer(JudgedByForm[Patient]):
    """A patient. ``although_similar_to``: references of similar patients, checked and found to be others."""

    although_similar_to = serializers.ListField(
        child=serializers.CharField(max_length=20), write_only=True, required=False, max_length=50
    )

    class Meta:
        model = Patient
        fields = ["public_id", "version", "reference", *OWNED_FIELDS, "last_seen_on", "although_similar_to"]
        read_only_fields = ["public_id", "version", "reference", "last_seen_on"]

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        similar = values.pop("although_similar_to", [])
        patient = self.instance
        known = {name: getattr(patient, name) for name in OWNED_FIELDS} if patient else usual(Patient, OWNED_FIELDS)
        data = {**known, **values}
        # The form works on its own copy of the record: a refused value must not get into the one that is shown.
        asked = {name: yes_or_no(data.get(name)) for name in ASKED}
        form = PatientForm(typed(data | asked), instance=Patient())
        refuse(faults_of(form))
        if patient is not None:
            return {name: form.cleaned_data[name] for name in values}
        return {**form.cleaned_data, "although_similar_to": similar}


class FindSerializer(NoUnknownKeys):
    text = serializers.CharField(max_length=LONGEST_SEARCH)


class FoundSerializer(PatientSerializer):
    """A patient and how they were found."""

    found_as = serializers.ChoiceField(choices=["exact", "reached", "near"], read_only=True)

    class Meta(PatientSerializer.Meta):
        fields = [*PatientSerializer.Meta.fields, "found_as"]


class PatientViewSet(
    WithVersion,
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
    conditional = ("partial_update",)
    only_reads = ("find",)
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
        try:
            serializer.instance = register_patient(actor=caller(self.request), **serializer.validated_data)
        except SeemsRegistered as refused:
            asked = f"{refused} If it is another person, name the references here."
            raise serializers.ValidationError({"although_similar_to": asked}) from refused

    def perform_update(self, serializer: serializers.BaseSerializer[Patient]) -> None:
        patient, fields = serializer.instance, serializer.validated_data
        assert patient is not None
        serializer.instance = correct_patient(
            actor=caller(self.request), patient=patient, version=self.version, **fields
        )

    @extend_schema(request=FindSerializer, responses=FoundSerializer(many=True))
    @action(detail=False, methods=["post"], pagination_class=None)
    def find(self, request: Request) -> Response:
        """Find by any part of a name, a birth date, a phone number or a reference: the first 50, as ``exact``.

        Where those are all, up to ten follow as ``reached`` (by guardian, e-mail or address), and up to ten as
        ``near`` (by a name that is nearly the one typed).
        """
        asked = FindSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        found = find(asked.validated_data["text"], size=MOST_FOUND)
        ways = {"exact": found.page.rows, "reached": found.others, "near": found.near}
        shown_in_list(request, [one for people in ways.values() for one in people])
        rows = [{**PatientSerializer(one).data, "found_as": way} for way, people in ways.items() for one in people]
        return Response(rows)
