"""Frames over the API: the stock and patients' own, with boxed sizes and shape."""

from __future__ import annotations

from typing import Any

from rest_framework import mixins, serializers
from rest_framework.viewsets import GenericViewSet

from dispensing.api.as_typed import JudgedByForm, refuse, typed, usual
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.api.relations import ByPublicId
from dispensing.forms.frames import FrameForm
from dispensing.models import Frame, Patient
from dispensing.optics.boxing import FEWEST_RADII
from dispensing.roles import Ability
from dispensing.services.frames import add_frame, change_frame

FIELDS = (*FrameForm.Meta.fields,)


class FrameSerializer(JudgedByForm[Frame]):
    """``radii_mm``: the right lens, from the boxed centre, counter-clockwise from the nose, seen from the front."""

    owner = ByPublicId(Patient, allow_null=True, required=False)
    radii_mm = serializers.ListField(
        child=serializers.FloatField(min_value=1, max_value=100),
        allow_null=True,
        required=False,
        min_length=FEWEST_RADII,
        max_length=4000,
    )

    class Meta:
        model = Frame
        fields = ["public_id", "owner", *FIELDS, "radii_mm", "changed_at"]
        read_only_fields = ["public_id", "changed_at"]

    def validate_owner(self, owner: Patient | None) -> Patient | None:
        if self.instance and owner != self.instance.owner:
            raise serializers.ValidationError("A frame stays with its owner.")
        return owner

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        owner = values.pop("owner", self.instance.owner if self.instance else None)
        radii = values.pop("radii_mm", self.instance.radii_mm if self.instance else None)
        known = {name: getattr(self.instance, name) for name in FIELDS} if self.instance else usual(Frame, FIELDS)
        text = " ".join(f"{radius:.3f}" for radius in radii) if radii else None
        form = FrameForm(typed({**known, **values, "radii": text}), frame=self.instance, own=owner is not None)
        refuse(form)
        return {"owner": owner, "fields": form.frame_fields, "shape": form.shape}


class FrameViewSet(
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    mixins.CreateModelMixin,
    mixins.UpdateModelMixin,
    GenericViewSet[Frame],
):
    """Frames, newest first, 50 a page."""

    queryset = Frame.objects.select_related("owner").order_by("-pk")
    serializer_class = FrameSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"
    http_method_names = ["get", "post", "patch", "head", "options"]
    access_by_action = {
        "list": (Ability.FRAME_VIEW,),
        "retrieve": (Ability.FRAME_VIEW,),
        "create": (Ability.FRAME_EDIT,),
        "partial_update": (Ability.FRAME_EDIT,),
        "metadata": (Ability.FRAME_VIEW,),
    }

    def perform_create(self, serializer: serializers.BaseSerializer[Frame]) -> None:
        serializer.instance = add_frame(actor=caller(self.request), **serializer.validated_data)

    def perform_update(self, serializer: serializers.BaseSerializer[Frame]) -> None:
        values = dict(serializer.validated_data)
        values.pop("owner")
        assert serializer.instance is not None
        serializer.instance = change_frame(actor=caller(self.request), frame=serializer.instance, **values)
