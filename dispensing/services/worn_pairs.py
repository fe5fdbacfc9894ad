"""Writing what the pair worn now reads: recording one and correcting one, both eyes in one transaction.

An order that was sent keeps the pair as it was read then, in its own document.
"""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from dispensing.models import Patient, StaffUser, WornEye, WornPair
from dispensing.services.audit import in_words, record
from dispensing.services.patients import mark_seen
from dispensing.services.power_lines import LINE_FIELDS, Eyes, correct_record, write_line

FACTS = ("read_on", "use", "kind", "age_years", "likes", "dislikes", "tasks", "distances")
EYE_FIELDS = (*LINE_FIELDS, "height_mm", "base_curve_d")


@transaction.atomic
def record_worn_pair(*, actor: StaffUser | None, patient: Patient, facts: Mapping[str, Any], eyes: Eyes) -> WornPair:
    """Record a pair that was read. ``facts``: fields of FACTS. Raises ValidationError for what the record refuses."""
    pair = WornPair(patient=patient, recorded_by=actor, **facts)
    pair.full_clean(exclude={"recorded_by"})
    pair.save()
    for eye, values in eyes.items():
        write_line(WornEye(pair=pair, eye=eye), values)
    mark_seen(patient)
    record(actor=actor, verb="worn-pair.record", target=pair, patient=patient)
    return pair


@transaction.atomic
def correct_worn_pair(
    *, actor: StaffUser | None, pair: WornPair, facts: Mapping[str, Any], eyes: Eyes, version: int | None = None
) -> WornPair:
    """Replace what differs and record the old and new value of each; nothing is recorded if nothing differs.

    ``version``: the one the change is based on. Raises ValidationError, ChangedMeanwhile.
    """
    stored = WornPair.objects.select_for_update().get(pk=pair.pk)
    changes = correct_record(
        stored,
        facts=facts,
        eyes=eyes,
        version=version,
        new_line=lambda eye: WornEye(pair=stored, eye=eye),
        names=EYE_FIELDS,
    )
    if changes:
        record(actor=actor, verb="worn-pair.correct", target=stored, patient=stored.patient, changes=in_words(changes))
    return stored
