"""Labs' catalogues over the API: taken in, looked at beside the one in use, then taken into use or put back."""

from __future__ import annotations

import json
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from dispensing.access import requires
from dispensing.api.as_typed import NoUnknownKeys, faults_in_document, refuse
from dispensing.api.paging import ByKey
from dispensing.api.reading import caller
from dispensing.documents import InvalidDocument
from dispensing.roles import Ability
from orders.api.documents import CatalogueField
from orders.api.refusals import Conflict, valid
from orders.catalogues.differences import HOWS
from orders.models import Catalogue
from orders.queries import lab_named
from orders.services.catalogue_looks import Look, look_at
from orders.services.catalogues import AnotherInUse, NotConfirmed, take_in, use_catalogue


class ConfirmedSerializer(serializers.Serializer[Any]):
    """An unusual figure that somebody confirmed."""

    path = serializers.CharField()
    says = serializers.CharField()
    by = serializers.CharField()
    at = serializers.DateTimeField()


class CatalogueSerializer(serializers.ModelSerializer[Catalogue]):
    """A catalogue as it is kept; its text is at the address of its page."""

    lab: serializers.StringRelatedField[Any] = serializers.StringRelatedField(read_only=True)
    confirmed = ConfirmedSerializer(many=True, read_only=True)

    class Meta:
        model = Catalogue
        fields = ["public_id", "lab", "issued_on", "sha256", "in_use", "imported_at", "used_at", "confirmed"]
        read_only_fields = fields


class ChangeSerializer(serializers.Serializer[Any]):
    """One thing that is gone, changed or new."""

    how = serializers.ChoiceField(choices=HOWS)
    about = serializers.CharField(help_text="design, material, treatment, blank, limit or price")
    name = serializers.CharField(help_text="The design, material or treatment that it belongs to.")
    says = serializers.CharField(help_text="In words; empty where the whole entry is gone or new.", allow_blank=True)


class DoubtSerializer(serializers.Serializer[Any]):
    """An unusual figure to be confirmed by its path."""

    path = serializers.CharField()
    says = serializers.CharField()


class TouchedSerializer(serializers.Serializer[Any]):
    """An open draft with a lens of which something changes."""

    order = serializers.UUIDField(source="order.public_id")
    number = serializers.CharField(source="order.number")
    changes = ChangeSerializer(many=True)
    stops = serializers.SerializerMethodField(help_text="What would stop it that does not stop it now.")

    def get_stops(self, draft: Any) -> list[str]:
        return [part.message for part in draft.stops]


class LookSerializer(serializers.Serializer[Any]):
    """A catalogue beside the one that it would replace (or, for the one in use, that it replaced)."""

    catalogue = CatalogueSerializer()
    beside = serializers.UUIDField(source="beside.public_id", allow_null=True, default=None)
    changes = ChangeSerializer(many=True)
    doubts = DoubtSerializer(many=True)
    open_drafts = serializers.IntegerField(source="drafts")
    touched_drafts = serializers.IntegerField(source="touched_count")
    touched = TouchedSerializer(many=True)


class GivenSerializer(NoUnknownKeys):
    """The catalogue file. The lab is the one that it names."""

    catalogue = CatalogueField()


class UseSerializer(NoUnknownKeys):
    """confirmed: the paths of the unusual figures that you confirm. beside: the catalogue in use when you looked."""

    confirmed = serializers.ListField(child=serializers.CharField(), required=False, default=list)
    beside = serializers.UUIDField(required=False, allow_null=True, default=None)


@requires(Ability.LAB_EDIT)
class CatalogueViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, GenericViewSet[Catalogue]):
    """The catalogues of all labs, newest first; a stored one never changes."""

    queryset = Catalogue.objects.select_related("lab")
    serializer_class = CatalogueSerializer
    pagination_class = ByKey
    lookup_field = "public_id"
    lookup_value_converter = "uuid"

    @extend_schema(responses=LookSerializer)
    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Look at it: what differs from the one in use, what is to be confirmed, and which drafts it touches."""
        return Response(_look(self.get_object()))

    @extend_schema(request=GivenSerializer, responses={201: LookSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Take a catalogue in to be looked at. It is not used yet."""
        values = valid(GivenSerializer(data=request.data))["catalogue"]
        name = values.get("lab") if isinstance(values, dict) else None
        lab = lab_named(name) if isinstance(name, str) else None
        if lab is None:
            raise ValidationError({"catalogue.lab": ["No lab here has the name that this catalogue gives."]})
        try:
            taken = take_in(lab=lab, content=json.dumps(values, ensure_ascii=False).encode(), actor=caller(request))
        except InvalidDocument as refused:
            refuse(faults_in_document(refused, "catalogue"))
        return Response(_look(taken), status=status.HTTP_201_CREATED)

    @extend_schema(request=UseSerializer, responses=LookSerializer)
    @action(detail=True, methods=["post"])
    def use(self, request: Request, **kwargs: Any) -> Response:
        """Take it into use, or put it back. 409 lists what is still to be confirmed; also if another came into use."""
        catalogue, asked = self.get_object(), valid(UseSerializer(data=request.data))
        beside = Catalogue.objects.filter(public_id=asked["beside"]).first() if asked["beside"] else None
        try:
            used = use_catalogue(
                catalogue=catalogue, actor=caller(request), confirmed=asked["confirmed"], beside=beside
            )
        except NotConfirmed as refused:
            left = [DoubtSerializer(doubt).data for doubt in refused.doubts]
            raise Conflict(str(refused), doubts=left) from refused
        except AnotherInUse as refused:
            raise Conflict(str(refused)) from refused
        return Response(_look(used))


def _look(catalogue: Catalogue) -> dict[str, Any]:
    look: Look = look_at(catalogue)
    return dict(LookSerializer(look).data)
