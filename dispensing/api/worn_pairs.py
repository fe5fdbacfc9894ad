"""The pairs that patients wear, over the API: as the lensmeter reads them, with the same refusals as the pages."""

from __future__ import annotations

from typing import Any

from dispensing.api.as_typed import Count, JudgedByForm
from dispensing.api.reading import caller
from dispensing.api.relations import ByPublicId
from dispensing.api.two_eyes import TwoEyesSerializer, TwoEyesViewSet
from dispensing.forms.worn_pairs import WornPairEntry
from dispensing.models import Patient, WornEye, WornPair
from dispensing.queries.worn_pairs import with_eyes
from dispensing.services.worn_pairs import EYE_FIELDS, FACTS, correct_worn_pair, record_worn_pair


class WornEyeSerializer(JudgedByForm[WornEye]):
    axis = Count(allow_null=True, required=False)

    class Meta:
        model = WornEye
        fields = list(EYE_FIELDS)


class WornPairSerializer(TwoEyesSerializer[WornPair]):
    """A pair as read on one day; ``right`` or ``left`` is null if that lens was not read."""

    entry_form = WornPairEntry
    stays = "A pair stays with its patient."
    patient = ByPublicId(Patient)
    right = WornEyeSerializer(allow_null=True, required=False)
    left = WornEyeSerializer(allow_null=True, required=False)

    class Meta:
        model = WornPair
        fields = ["public_id", "version", "patient", *FACTS, "right", "left", "recorded_at"]
        read_only_fields = ["public_id", "version", "recorded_at"]


class WornPairViewSet(TwoEyesViewSet[WornPair]):
    """Pairs worn now, newest first, 50 a page. A correction (PUT) replaces the whole reading."""

    queryset = with_eyes().order_by("-pk")
    serializer_class = WornPairSerializer

    def record(self, values: dict[str, Any]) -> WornPair:
        return record_worn_pair(actor=caller(self.request), **values)

    def correct(self, stored: WornPair, values: dict[str, Any]) -> WornPair:
        return correct_worn_pair(actor=caller(self.request), pair=stored, version=self.version, **values)
