"""The pairs that patients wear, over the API: as the lensmeter reads them, with the same refusals as the pages."""

from __future__ import annotations

from typing import Any

from rest_framework import mixins, serializers
from rest_framework.viewsets import GenericViewSet

from dispensing.api.as_typed import Count, JudgedByForm, faults_of, refuse
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.api.relations import ByPublicId
from dispensing.api.versioned_views import WithVersion
from dispensing.forms.typed import typed
from dispensing.forms.worn_pairs import WornPairEntry
from dispensing.models import Patient, WornEye, WornPair
from dispensing.queries.worn_pairs import with_eyes
from dispensing.roles import Ability
from dispensing.services.worn_pairs import EYE_FIELDS, FACTS, correct_worn_pair, record_worn_pair


class WornEyeSerializer(JudgedByForm[WornEye]):
    axis = Count(allow_null=True, required=False)

    class Meta:
        model = WornEye
        fields = list(EYE_FIELDS)


class WornPairSerializer(JudgedByForm[WornPair]):
    """A pair as read on one day; ``right`` or ``left`` is null if that lens was not read."""

    patient = ByPublicId(Patient)
    right = WornEyeSerializer(allow_null=True, required=False)
    left = WornEyeSerializer(allow_null=True, required=False)

    class Meta:
        model = WornPair
        fields = ["public_id", "version", "patient", *FACTS, "right", "left", "recorded_at"]
        read_only_fields = ["public_id", "version", "recorded_at"]

    def validate_patient(self, patient: Patient) -> Patient:
        if self.instance and patient.pk != self.instance.patient_id:
            raise serializers.ValidationError("A pair stays with its patient.")
        return patient

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        patient = values.pop("patient")
        eyes = {eye: values.pop(eye, None) or {} for eye in ("right", "left")}
        data = typed(values)
        for eye, fields in eyes.items():
            typed(fields, prefix=eye, into=data)
        entry = WornPairEntry(patient, data, corrected=self.instance)
        entry.is_valid()
        faults = faults_of(entry.facts)
        for name, form in entry.eyes:
            faults |= faults_of(form, prefix=str(name))
        refuse(faults)
        return {"patient": patient, **entry.values()}


class WornPairViewSet(
    WithVersion,
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    mixins.CreateModelMixin,
    mixins.UpdateModelMixin,
    GenericViewSet[WornPair],
):
    """Pairs worn now, newest first, 50 a page. A correction (PUT) replaces the whole reading."""

    queryset = with_eyes().order_by("-pk")
    serializer_class = WornPairSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"
    conditional = ("update",)
    shows_itself_alone = True
    http_method_names = ["get", "post", "put", "head", "options"]
    access_by_action = {
        "list": (Ability.PATIENT_VIEW,),
        "retrieve": (Ability.PATIENT_VIEW,),
        "create": (Ability.PRESCRIPTION_EDIT,),
        "update": (Ability.PRESCRIPTION_EDIT,),
        "metadata": (Ability.PATIENT_VIEW,),
    }

    def perform_create(self, serializer: serializers.BaseSerializer[WornPair]) -> None:
        stored = record_worn_pair(actor=caller(self.request), **serializer.validated_data)
        serializer.instance = self.get_queryset().get(pk=stored.pk)

    def perform_update(self, serializer: serializers.BaseSerializer[WornPair]) -> None:
        assert serializer.instance is not None
        values = dict(serializer.validated_data)
        del values["patient"]
        stored = correct_worn_pair(actor=caller(self.request), pair=serializer.instance, version=self.version, **values)
        serializer.instance = self.get_queryset().get(pk=stored.pk)
