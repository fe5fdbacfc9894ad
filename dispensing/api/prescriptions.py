"""Prescriptions over the API. What a person must confirm on the page, a program confirms by sending its key."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from dispensing.api.as_typed import Count, JudgedByForm
from dispensing.api.reading import caller
from dispensing.api.relations import ByPublicId
from dispensing.api.two_eyes import TwoEyesSerializer, TwoEyesViewSet
from dispensing.forms.prescription_entry import PrescriptionEntry
from dispensing.forms.typed import usual, yes_or_no
from dispensing.models import Patient, PrescribedEye, Prescription
from dispensing.prescribing.remarks import Remark
from dispensing.services.prescriptions import EYE_FIELDS, FACTS, correct_prescription, take_in_prescription


class NotConfirmed(serializers.ValidationError):
    """Questions that a careful colleague would ask; nothing is stored until each is confirmed by its key."""

    def __init__(self, questions: list[Remark]):
        super().__init__({"confirmed": [f"{question.message} To confirm it, give its key." for question in questions]})
        self.also = {"questions": [{"key": question.key, "message": question.message} for question in questions]}


class PrescribedEyeSerializer(JudgedByForm[PrescribedEye]):
    axis = Count(allow_null=True, required=False)
    balance = serializers.BooleanField(required=False)

    class Meta:
        model = PrescribedEye
        fields = list(EYE_FIELDS)


class PrescriptionSerializer(TwoEyesSerializer[Prescription]):
    """A prescription; ``right`` or ``left`` is null if that eye has none.

    ``remarks``: what deserves a second look. Some remarks are questions that must be confirmed: a refusal lists the
    ``questions`` with their keys, and ``confirmed`` takes those keys. A key contains the figures it is about.
    """

    entry_form = PrescriptionEntry
    stays = "A prescription stays with its patient."
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

    def facts_typed(self, values: dict[str, Any]) -> dict[str, Any]:
        return {**usual(Prescription, FACTS), **values, "signed": yes_or_no(values.get("signed"))}

    def confirmed_values(self) -> dict[str, Any]:
        """The values that may be stored. Raises NotConfirmed."""
        if self.entry.open_questions:
            raise NotConfirmed(self.entry.open_questions)
        return dict(self.validated_data)

    def to_representation(self, instance: Prescription) -> dict[str, Any]:
        remarks = self.entry.remarks if self.entry is not None else []
        return {**super().to_representation(instance), "remarks": [remark.message for remark in remarks]}


class PrescriptionViewSet(TwoEyesViewSet[Prescription]):
    """Prescriptions, newest first, 50 a page. A correction (PUT) replaces the whole prescription."""

    queryset = Prescription.objects.select_related("patient").prefetch_related("eyes").order_by("-pk")
    serializer_class = PrescriptionSerializer

    def confirmed(self, serializer: serializers.BaseSerializer[Prescription]) -> dict[str, Any]:
        assert isinstance(serializer, PrescriptionSerializer)
        return serializer.confirmed_values()

    def record(self, values: dict[str, Any]) -> Prescription:
        return take_in_prescription(actor=caller(self.request), **values)

    def correct(self, stored: Prescription, values: dict[str, Any]) -> Prescription:
        return correct_prescription(actor=caller(self.request), prescription=stored, version=self.version, **values)
