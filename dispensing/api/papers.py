"""Scans of prescriptions over the API: sent in, read beside the request, asked for until they are read.

What was read is confirmed by taking in a prescription that names the scan, as on the page.
"""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from dispensing.api.as_typed import NoUnknownKeys, refuse
from dispensing.api.reading import caller
from dispensing.api.relations import ByPublicId
from dispensing.forms.fields import month_first
from dispensing.models import PaperReading, Patient
from dispensing.request_size import takes_files
from dispensing.roles import Ability
from dispensing.services.papers import add_paper, start_again_if_it_died


class ReadFieldSerializer(serializers.Serializer[Any]):
    """One field that was read, named as in a prescription (``right-sphere``, ``tested_on``), or whose paper it is.

    ``value``: null if it cannot be read. ``unsure``: why a person has to look, empty if nothing is against it.
    ``box``: left, top, width and height in px of the upright page. Both and the page are null in older readings.
    """

    name = serializers.CharField()
    value = serializers.JSONField()
    text = serializers.CharField(allow_blank=True)
    unsure = serializers.CharField(allow_blank=True)
    confidence = serializers.FloatField(allow_null=True, default=None)
    box = serializers.ListField(child=serializers.FloatField(), allow_null=True, default=None)
    page = serializers.IntegerField(allow_null=True, default=None)


class PaperSerializer(serializers.ModelSerializer[PaperReading]):
    """A scan. ``said``: what to know of it first, such as another name on it; ``page`` of ``pages`` is read so far."""

    patient = ByPublicId(read_only=True)
    prescription = serializers.UUIDField(
        source="scan.prescription.public_id", read_only=True, allow_null=True, default=None,
        help_text="The one it was taken in with; null until then.",
    )  # fmt: skip
    found = ReadFieldSerializer(many=True, read_only=True)

    class Meta:
        model = PaperReading
        fields = [
            *("public_id", "patient", "prescription", "state", "page", "pages", "said", "found"),
            *("added_at", "confirmed_at"),
        ]
        read_only_fields = fields


class SentSerializer(NoUnknownKeys):
    """The scan: JPEG, PNG, WebP, HEIC or PDF, up to 10 MB."""

    patient = ByPublicId(Patient)
    file = serializers.FileField()


@takes_files
class PaperViewSet(mixins.RetrieveModelMixin, GenericViewSet[PaperReading]):
    """Scans of prescriptions and what the machine reads of them."""

    queryset = PaperReading.objects.select_related("patient", "scan__prescription")
    serializer_class = PaperSerializer
    parser_classes = [MultiPartParser]
    lookup_field = "public_id"
    lookup_value_converter = "uuid"
    access_by_action = {
        "retrieve": (Ability.PRESCRIPTION_EDIT,),
        "create": (Ability.PRESCRIPTION_EDIT,),
        "metadata": (Ability.PRESCRIPTION_EDIT,),
    }

    def get_object(self) -> PaperReading:
        """One whose reader died is read once more, as for whoever waits for it on the page."""
        paper = super().get_object()
        start_again_if_it_died(paper, month_first())
        return paper

    @extend_schema(request={"multipart/form-data": SentSerializer}, responses={201: PaperSerializer})
    def create(self, request: Request) -> Response:
        """Send a scan in. It is kept, whatever becomes of its reading; ask for it until ``state`` is read or failed."""
        sent = SentSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        patient, upload = sent.validated_data["patient"], sent.validated_data["file"]
        try:
            paper = add_paper(actor=caller(request), patient=patient, upload=upload, month_first=month_first())
        except ValidationError as fault:
            refuse({"file": fault.messages})
        address = self.reverse_action("detail", args=[paper.public_id])
        return Response(PaperSerializer(paper).data, status.HTTP_201_CREATED, headers={"Location": address})
