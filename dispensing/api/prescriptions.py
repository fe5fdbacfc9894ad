"""Prescriptions over the API. What a person must confirm on the page, a program confirms by sending its key."""

from __future__ import annotations

from typing import Any

from django.http import QueryDict
from rest_framework import serializers

from dispensing.api.as_typed import Count, JudgedByForm, refuse
from dispensing.api.reading import caller
from dispensing.api.relations import ByPublicId
from dispensing.api.two_eyes import TwoEyesSerializer, TwoEyesViewSet
from dispensing.forms.prescription_entry import PrescriptionEntry
from dispensing.forms.typed import usual, yes_or_no
from dispensing.models import PaperReading, Patient, PrescribedEye, Prescription
from dispensing.prescribing.remarks import Remark
from dispensing.queries.papers import paper_named
from dispensing.services.papers import take_in_from_paper
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

    ``paper``: the scan that a new prescription is taken in from. ``seen``: the names of its fields that a person looked
    at; each field that was read and is sent has to be among them.
    """

    entry_form = PrescriptionEntry
    stays = "A prescription stays with its patient."
    paper_taken_in: PaperReading | None = None
    patient = ByPublicId(Patient)
    right = PrescribedEyeSerializer(allow_null=True, required=False)
    left = PrescribedEyeSerializer(allow_null=True, required=False)
    remarks = serializers.ListField(child=serializers.CharField(), read_only=True)
    confirmed = serializers.ListField(
        child=serializers.CharField(max_length=1000), write_only=True, required=False, max_length=50
    )

    paper = serializers.UUIDField(write_only=True, required=False, allow_null=True)
    seen = serializers.ListField(
        child=serializers.CharField(max_length=40), write_only=True, required=False, max_length=50
    )

    class Meta:
        model = Prescription
        fields = [
            *("public_id", "version", "patient", *FACTS, "right", "left", "recorded_at", "remarks", "confirmed"),
            *("paper", "seen"),
        ]
        read_only_fields = ["public_id", "version", "recorded_at"]

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        named = values.pop("paper", None)
        self.paper_taken_in = paper_named(values["patient"], str(named)) if named and self.instance is None else None
        if named and self.paper_taken_in is None:
            refuse({"paper": ["This patient has no scan of this id that is still to be taken in."]})
        valid = super().validate(values)
        if unseen := [field.name for field in self.entry.paper.unseen] if self.entry.paper else []:
            refuse({"seen": [f"Nobody has looked at {', '.join(unseen)} yet. Name what a person looked at."]})
        return valid

    def entry_of(self, patient: Patient, data: QueryDict) -> PrescriptionEntry:
        return PrescriptionEntry(patient, data, corrected=self.instance, paper=self.paper_taken_in)

    def facts_typed(self, values: dict[str, Any]) -> dict[str, Any]:
        return {**usual(Prescription, FACTS), **values, "signed": yes_or_no(values.get("signed"))}

    def confirmed_values(self) -> dict[str, Any]:
        """The values that may be stored. Raises NotConfirmed."""
        if self.entry.open_questions:
            raise NotConfirmed(self.entry.open_questions)
        read = {"paper": self.paper_taken_in, "settled": self.entry.settled} if self.paper_taken_in else {}
        return {**self.validated_data, **read}

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
        take_in = take_in_from_paper if "paper" in values else take_in_prescription
        return take_in(actor=caller(self.request), **values)

    def correct(self, stored: Prescription, values: dict[str, Any]) -> Prescription:
        return correct_prescription(actor=caller(self.request), prescription=stored, version=self.version, **values)
