"""A record with a line for each eye over the API, judged by the page's entry: prescriptions and pairs worn now."""

from __future__ import annotations

from typing import Any, ClassVar, TypeVar

from django.db import models
from django.http import QueryDict
from rest_framework import mixins, serializers
from rest_framework.viewsets import GenericViewSet

from dispensing.api.as_typed import JudgedByForm, faults_of, refuse
from dispensing.api.paging import ByKey
from dispensing.api.versioned_views import WithVersion
from dispensing.forms.two_eyes import TwoEyesEntry
from dispensing.forms.typed import typed
from dispensing.models import Patient
from dispensing.optics.conventions import EYES
from dispensing.roles import Ability

Record = TypeVar("Record", bound=models.Model)


class TwoEyesSerializer(JudgedByForm[Record]):
    """``entry_form``: the page's entry. ``stays``: what is said of a record that would change its patient."""

    entry_form: ClassVar[type[TwoEyesEntry[Any, Any, Any]]]
    stays: ClassVar[str]
    entry: Any = None

    def validate_patient(self, patient: Patient) -> Patient:
        if self.instance and patient.pk != self.instance.patient_id:
            raise serializers.ValidationError(self.stays)
        return patient

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        patient = values.pop("patient")
        eyes = {eye: values.pop(eye, None) or {} for eye in EYES}
        data = typed(self.facts_typed(values))
        for eye, fields in eyes.items():
            typed(fields, prefix=eye, into=data)
        self.entry = entry = self.entry_of(patient, data)
        entry.is_valid()
        faults = faults_of(entry.facts)
        for name, form in entry.eyes:
            faults |= faults_of(form, prefix=str(name))
        refuse(faults)
        return {"patient": patient, **entry.values()}

    def entry_of(self, patient: Patient, data: QueryDict) -> TwoEyesEntry[Any, Any, Any]:
        return self.entry_form(patient, data, corrected=self.instance)

    def facts_typed(self, values: dict[str, Any]) -> dict[str, Any]:
        """The facts as they would be typed into the page."""
        return values


class TwoEyesViewSet(
    WithVersion,
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    mixins.CreateModelMixin,
    mixins.UpdateModelMixin,
    GenericViewSet[Record],
):
    """Newest first, 50 a page. A correction (PUT) replaces the whole record."""

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

    def record(self, values: dict[str, Any]) -> Record:
        """Store a new record."""
        raise NotImplementedError

    def correct(self, stored: Record, values: dict[str, Any]) -> Record:
        """Store what is corrected in one."""
        raise NotImplementedError

    def confirmed(self, serializer: serializers.BaseSerializer[Record]) -> dict[str, Any]:
        """The values that may be stored."""
        return dict(serializer.validated_data)

    def perform_create(self, serializer: serializers.BaseSerializer[Record]) -> None:
        stored = self.record(self.confirmed(serializer))
        serializer.instance = self.get_queryset().get(pk=stored.pk)

    def perform_update(self, serializer: serializers.BaseSerializer[Record]) -> None:
        assert serializer.instance is not None
        values = self.confirmed(serializer)
        del values["patient"]
        stored = self.correct(serializer.instance, values)
        serializer.instance = self.get_queryset().get(pk=stored.pk)
