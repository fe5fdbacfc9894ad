"""Writing prescriptions: entering and correcting one, both eyes in one transaction and on the audit trail.

A prescription that was used in a sent order may be corrected like any other: the order holds its own copy.
"""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from dispensing.models import Patient, PrescribedEye, Prescription, StaffUser
from dispensing.services.audit import in_words, record
from dispensing.services.patients import mark_seen
from dispensing.services.power_lines import LINE_FIELDS, Eyes, correct_record, write_line

FACTS = (
    "tested_on",
    "expires_on",
    "prescriber",
    "prescriber_address",
    "source",
    "signed",
    "use",
    "vertex_mm",
    "notes",
)
EYE_FIELDS = (*LINE_FIELDS, "balance")


@transaction.atomic
def take_in_prescription(
    *, actor: StaffUser | None, patient: Patient, facts: Mapping[str, Any], eyes: Eyes
) -> Prescription:
    """Enters a new prescription. ``facts``: fields of FACTS. Raises ValidationError for what the record refuses."""
    prescription = Prescription(patient=patient, recorded_by=actor, **facts)
    prescription.full_clean(exclude={"recorded_by"})
    prescription.save()
    for eye, values in eyes.items():
        write_line(PrescribedEye(prescription=prescription, eye=eye), values)
    mark_seen(patient)
    record(actor=actor, verb="prescription.record", target=prescription, patient=patient)
    return prescription


@transaction.atomic
def correct_prescription(
    *,
    actor: StaffUser | None,
    prescription: Prescription,
    facts: Mapping[str, Any],
    eyes: Eyes,
    version: int | None = None,
) -> Prescription:
    """Replace what differs and record the old and new value of each; nothing is recorded if nothing differs.

    ``version``: the one the change is based on. Raises ValidationError, ChangedMeanwhile.
    """
    stored = Prescription.objects.select_for_update().get(pk=prescription.pk)
    changes = correct_record(
        stored,
        facts=facts,
        eyes=eyes,
        version=version,
        new_line=lambda eye: PrescribedEye(prescription=stored, eye=eye),
        names=EYE_FIELDS,
    )
    if changes:
        record(
            actor=actor, verb="prescription.correct", target=stored, patient=stored.patient, changes=in_words(changes)
        )
    return stored
