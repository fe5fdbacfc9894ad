"""Prescriptions over the API. Remarks that a person would have to confirm on the page are told, not asked."""

from __future__ import annotations

from typing import Any

from rest_framework import mixins, serializers
from rest_framework.viewsets import GenericViewSet

from dispensing.api.as_typed import Figure, JudgedByForm, refuse, typed, usual, yes_or_no
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.api.relations import ByPublicId
from dispensing.forms.prescription_entry import PrescriptionEntry
from dispensing.models import Patient, PrescribedEye, Prescription
from dispensing.roles import Ability
from dispensing.services.prescriptions import EYE_FIELDS, FACTS, correct_prescription, take_in_prescription


class PrescribedEyeSerializer(JudgedByForm[PrescribedEye]):
    axis = Figure(allow_null=True, required=False)

    class Meta:
        model = PrescribedEye
        fields = list(EYE_FIELDS)


class PrescriptionSerializer(JudgedByForm[Prescription]):
    """A prescription; ``right`` or ``left`` null where an eye has none. ``remarks`` is what wants a second look."""

    patient = ByPublicId(Patient)
    right = PrescribedEyeSerializer(allow_null=True, required=False)
    left = PrescribedEyeSerializer(allow_null=True, required=False)
    remarks = serializers.ListField(child=serializers.CharField(), read_only=True)

    class Meta:
        model = Prescription
        fields = ["public_id", "patient", *FACTS, "right", "left", "recorded_at", "remarks"]
        read_only_fields = ["public_id", "recorded_at"]

    def validate_patient(self, patient: Patient) -> Patient:
        if self.instance and patient.pk != self.instance.patient_id:
            raise serializers.ValidationError("A prescription stays with its patient.")
        return patient

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        patient = values.pop("patient", None)
        if patient is None:
            assert self.instance is not None  # A new prescription without a patient was refused before.
            patient = self.instance.patient
        eyes = {eye: values.pop(eye, None) or {} for eye in ("right", "left")}
        facts = {**usual(Prescription, FACTS), **values, "signed": yes_or_no(values.get("signed"))}
        data = typed(facts)
        for eye, fields in eyes.items():
            typed(fields, prefix=eye, into=data)
        entry = PrescriptionEntry(patient, data, apart_from=self.instance)
        entry.is_valid()
        refuse(entry.facts)
        for eye, form in entry.eyes:
            refuse(form, prefix=str(eye))
        self.found_remarks = [remark.message for remark in entry.remarks]
        return {"patient": patient, **entry.values()}

    def to_representation(self, instance: Prescription) -> dict[str, Any]:
        return {**super().to_representation(instance), "remarks": getattr(self, "found_remarks", [])}


class PrescriptionViewSet(
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    mixins.CreateModelMixin,
    mixins.UpdateModelMixin,
    GenericViewSet[Prescription],
):
    """Prescriptions, newest first, 50 a page. A correction (PUT) replaces the whole prescription."""

    queryset = Prescription.objects.select_related("patient").prefetch_related("eyes").order_by("-pk")
    serializer_class = PrescriptionSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"
    http_method_names = ["get", "post", "put", "head", "options"]
    access_by_action = {
        "list": (Ability.PATIENT_VIEW,),
        "retrieve": (Ability.PATIENT_VIEW,),
        "create": (Ability.PRESCRIPTION_EDIT,),
        "update": (Ability.PRESCRIPTION_EDIT,),
        "metadata": (Ability.PATIENT_VIEW,),
    }

    def perform_create(self, serializer: serializers.BaseSerializer[Prescription]) -> None:
        stored = take_in_prescription(actor=caller(self.request), **serializer.validated_data)
        serializer.instance = self.get_queryset().get(pk=stored.pk)

    def perform_update(self, serializer: serializers.BaseSerializer[Prescription]) -> None:
        values = dict(serializer.validated_data)
        values.pop("patient")
        assert serializer.instance is not None
        stored = correct_prescription(actor=caller(self.request), prescription=serializer.instance, **values)
        serializer.instance = self.get_queryset().get(pk=stored.pk)
