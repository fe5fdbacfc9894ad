"""Frames over the API: the stock and patients' own, with boxed sizes and shape."""

from __future__ import annotations

from typing import Any

from rest_framework import mixins, serializers
from rest_framework.viewsets import GenericViewSet

from dispensing.api.as_typed import Figure, JudgedByForm, faults_of, refuse
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.api.relations import ByPublicId
from dispensing.api.versioned_views import WithVersion
from dispensing.forms.frames import FrameForm
from dispensing.forms.typed import plain_number, typed, usual
from dispensing.models import Frame, Patient
from dispensing.roles import Ability
from dispensing.services.frames import add_frame, change_frame

FIELDS = (*FrameForm.Meta.fields,)
MOST_RADII = 4000


class FrameSerializer(JudgedByForm[Frame]):
    """``radii_mm``: the right lens, from the boxed centre, counter-clockwise from the nose, seen from the front.

    ``keep_difference``: keep the typed sizes even where the shape's own sizes differ.
    """

    owner = ByPublicId(Patient, allow_null=True, required=False)
    radii_mm = serializers.ListField(child=Figure(), allow_null=True, required=False, max_length=MOST_RADII)
    keep_difference = serializers.BooleanField(write_only=True, required=False)

    class Meta:
        model = Frame
        fields = ["public_id", "version", "owner", *FIELDS, "radii_mm", "keep_difference", "changed_at"]
        read_only_fields = ["public_id", "version", "changed_at"]

    def validate_owner(self, owner: Patient | None) -> Patient | None:
        if self.instance and owner != self.instance.owner:
            raise serializers.ValidationError("A frame stays with its owner.")
        return owner

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        frame = self.instance
        owner = values.pop("owner", frame.owner if frame else None)
        keep_shape = frame is not None and "radii_mm" not in values
        radii = values.pop("radii_mm", frame.radii_mm if frame else None)
        known = {name: getattr(frame, name) for name in FIELDS} if frame else usual(Frame, FIELDS)
        data = {**known, **values, "radii": " ".join(_written(radius) for radius in radii or ())}
        form = FrameForm(typed(data), frame=frame, own=owner is not None)
        faults = faults_of(form, names={"radii": "radii_mm"})
        refuse(faults | _of_no_use(values, known, form))
        return {"owner": owner, "fields": form.frame_fields, "shape": form.shape, "keep_shape": keep_shape}


def _written(radius: float | str) -> str:
    return radius if isinstance(radius, str) else plain_number(radius)


def _of_no_use(values: dict[str, Any], known: dict[str, Any], form: FrameForm) -> dict[str, list[str]]:
    """Fields the page does not ask for such a frame, which would be lost silently. A default value does no harm."""
    whose = "a patient's own frame" if "condition" in form.fields else "a frame of the stock"
    given = {name: value for name, value in values.items() if name not in form.fields}
    return {
        name: [f"This is not recorded for {whose}."]
        for name, value in given.items()
        if value and value != known.get(name)
    }


class FrameViewSet(
    WithVersion,
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
    conditional = ("partial_update",)
    shows_itself_alone = True
    http_method_names = ["get", "post", "patch", "head", "options"]
    access_by_action = {
        "list": (Ability.FRAME_VIEW,),
        "retrieve": (Ability.FRAME_VIEW,),
        "create": (Ability.FRAME_EDIT,),
        "partial_update": (Ability.FRAME_EDIT,),
        "metadata": (Ability.FRAME_VIEW,),
    }

    def perform_create(self, serializer: serializers.BaseSerializer[Frame]) -> None:
        values = dict(serializer.validated_data)
        del values["keep_shape"]
        serializer.instance = add_frame(actor=caller(self.request), **values)

    def perform_update(self, serializer: serializers.BaseSerializer[Frame]) -> None:
        values = dict(serializer.validated_data)
        del values["owner"]
        assert serializer.instance is not None
        serializer.instance = change_frame(
            actor=caller(self.request), frame=serializer.instance, version=self.version, **values
        )
