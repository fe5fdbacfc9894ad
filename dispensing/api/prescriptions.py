"""Prescriptions over the API. What a person must confirm on the page, a program confirms by sending its key."""

from __future__ import annotations

from typing import Any

from rest_framework import mixins, serializers
from rest_framework.viewsets import GenericViewSet

from dispensing.api.as_typed import Count, JudgedByForm, faults_of, refuse
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.api.relations import ByPublicId
from dispensing.api.versioned_views import WithVersion
from dispensing.forms.prescription_entry import PrescriptionEntry
from dispensing.forms.typed import typed, usual, yes_or_no
from dispensing.models import Patient, PrescribedEye, Prescription
from dispensing.prescribing.remarks import Remark
from dispensing.roles import Ability
from dispensing.services.prescriptions import EYE_FIELDS, FACTS, correct_prescription, take_in_prescription


class NotConfirmed(serializers.ValidationError):
    """Questions that a careful colleague would ask; nothing is stored until each is confirmed by its key."""

    def __init__(self, questions: list[Remark]):
        super().__init__({"confirmed": [f"{question.message} To confirm it, give its key." for question in questions]})
        self.also = {"questions": [{"key": question.key, "message": question.message} for question in questions]}


class PrescribedEyeSerializer(JudgedByForm[PrescribedEye]):
    axis = Count(allow_null=True, required=False)

    class Meta:
        model = PrescribedEye
        fields = list(EYE_FIELDS)


class PrescriptionSerializer(JudgedByForm[Prescription]):
    """A prescription; ``right`` or ``left`` is null if that eye has none.

    ``remarks``: what deserves a second look. Some remarks are questions that must be confirmed: a refusal lists the
    ``questions`` with their keys, and ``confirmed`` takes those keys. A key contains the figures it is about.
    """

    patient = ByPublicId(Patient)
    right = PrescribedEyeSerializer(allow_null=True, required=False)
    left = PrescribedEyeSerializer(allow_null=True, required=False)
    remarks = serializers.ListField(child=serializers.CharField(), read_only=True)
    confirmed = serializers.ListField(
        child=serializers.CharField(max_length=1000), write_only=True, required=False, max_length=50
    )

    class Meta:
        model = Prescription
        fields = ["public_id", "version", "patient", *FACTS, "right", "left", "recorded_at", "remarks", "confirmed"]
        read_only_fields = ["public_id", "version", "recorded_at"]

    def validate_patient(self, patient: Patient) -> Patient:
        if self.instance and patient.pk != self.instance.patient_id:
            raise serializers.ValidationError("A prescription stays with its patient.")
        return patient

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        patient = values.pop("patient")
        entry = PrescriptionEntry(patient, _as_typed(values), apart_from=self.instance)
        entry.is_valid()
        faults = faults_of(entry.facts)
        for eye, form in entry.eyes:
            faults |= faults_of(form, prefix=str(eye))
        refuse(faults)
        self.entry = entry
        return {"patient": patient, **entry.values()}

    def confirmed_values(self) -> dict[str, Any]:
        """The values that may be stored. Raises NotConfirmed."""
        if self.entry.open_questions:
            raise NotConfirmed(self.entry.open_questions)
        return dict(self.validated_data)

    def to_representation(self, instance: Prescription) -> dict[str, Any]:
        remarks = self.entry.remarks if hasattr(self, "entry") else []
        return {**super().to_representation(instance), "remarks": [remark.message for remark in remarks]}


def _as_typed(values: dict[str, Any]) -> Any:
    eyes = {eye: values.pop(eye, None) or {} for eye in ("right", "left")}
    data = typed({**usual(Prescription, FACTS), **values, "signed": yes_or_no(values.get("signed"))})
    for eye, fields in eyes.items():
        typed(fields, prefix=eye, into=data)
    return data


class PrescriptionViewSet(
    WithVersion,
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

    def perform_create(self, serializer: serializers.BaseSerializer[Prescription]) -> None:
        assert isinstance(serializer, PrescriptionSerializer)
        stored = take_in_prescription(actor=caller(self.request), **serializer.confirmed_values())
        serializer.instance = self.get_queryset().get(pk=stored.pk)

    def perform_update(self, serializer: serializers.BaseSerializer[Prescription]) -> None:
        assert isinstance(serializer, PrescriptionSerializer)
        assert serializer.instance is not None
        values = serializer.confirmed_values()
        del values["patient"]
        stored = correct_prescription(
            actor=caller(self.request), prescription=serializer.instance, version=self.version, **values
        )
        serializer.instance = self.get_queryset().get(pk=stored.pk)
