"""Writing what the pair worn now reads: recording one and correcting one, both eyes in one transaction.

An order that was sent keeps the pair as it was read then, in its own document.
"""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from dispensing.models import Patient, StaffUser, WornEye, WornPair
from dispensing.models.choices import Eye
from dispensing.services.audit import differing, in_words, record
from dispensing.services.meanwhile import require_version, save_next_version
from dispensing.services.patients import mark_seen
from dispensing.services.power_lines import LINE_FIELDS, Eyes, correct_line, differing_line, write_line

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
    rows = {row.eye: row for row in stored.eyes.all()}
    changed = differing({name: getattr(stored, name) for name in facts}, facts)
    changed_eyes = {eye: differing_line(rows.get(eye), eyes.get(eye), EYE_FIELDS) for eye in Eye.values}
    changes = changed | {f"{eye}.{name}": pair for eye, pairs in changed_eyes.items() for name, pair in pairs.items()}
    require_version(stored, version, changes)
    if not changes:
        return stored
    for name in changed:
        setattr(stored, name, facts[name])
    if changed:
        stored.full_clean(exclude={"recorded_by"})
    save_next_version(stored, changed)
    for eye in (eye for eye, pairs in changed_eyes.items() if pairs):
        correct_line(rows.get(eye) or WornEye(pair=stored, eye=eye), eyes.get(eye))
    record(actor=actor, verb="worn-pair.correct", target=stored, patient=stored.patient, changes=in_words(changes))
    return stored
