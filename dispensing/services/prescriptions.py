"""Writing prescriptions: taking one in and correcting one, each with both eyes, in one transaction, on the record.

A prescription that was used in a sent order may be corrected like any other: the order holds its own copy.
"""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from dispensing.models import Patient, PrescribedEye, Prescription, StaffUser
from dispensing.models.choices import Eye
from dispensing.services.audit import changed_fields, record
from dispensing.services.meanwhile import require_seen
from dispensing.services.patients import mark_seen

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
EYE_FIELDS = (
    "sphere",
    "cylinder",
    "axis",
    "add",
    "intermediate_add",
    "prism_horizontal",
    "prism_horizontal_base",
    "prism_vertical",
    "prism_vertical_base",
    "acuity",
)

Eyes = Mapping[str, Mapping[str, Any]]
"""``{"right": {field: value}}``: the fields of EYE_FIELDS; an eye that is absent has no prescription."""


@transaction.atomic
def take_in_prescription(
    *, actor: StaffUser | None, patient: Patient, facts: Mapping[str, Any], eyes: Eyes
) -> Prescription:
    """A new prescription. ``facts``: fields of FACTS. Raises ValidationError for what the record refuses."""
    prescription = Prescription(patient=patient, recorded_by=actor, **facts)
    prescription.full_clean(exclude={"recorded_by"})
    prescription.save()
    for eye, values in eyes.items():
        _write_eye(PrescribedEye(prescription=prescription, eye=eye), values)
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
    seen: int | None = None,
) -> Prescription:
    """Replace what differs, and record old and new value of each; nothing is recorded when nothing differs.

    ``seen``: the `last_change` of the prescription the person looked at. Raises ValidationError, ChangedMeanwhile.
    """
    stored = Prescription.objects.select_for_update().get(pk=prescription.pk)
    changes = changed_fields({name: getattr(stored, name) for name in facts}, dict(facts))
    for name in changes:
        setattr(stored, name, facts[name])
    if changes:
        stored.full_clean(exclude={"recorded_by"})
        stored.save(update_fields=list(changes))
    for eye in Eye.values:
        changes |= _correct_eye(stored, eye, eyes.get(eye))
    require_seen(stored, seen, changes)
    if changes:
        record(actor=actor, verb="prescription.correct", target=stored, patient=stored.patient, changes=changes)
    return stored


def _write_eye(row: PrescribedEye, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        setattr(row, name, value)
    row.full_clean()
    row.save()


def _correct_eye(stored: Prescription, eye: str, values: Mapping[str, Any] | None) -> dict[str, Any]:
    row = PrescribedEye.objects.filter(prescription=stored, eye=eye).first()
    empty = {"acuity": "", "prism_horizontal_base": "", "prism_vertical_base": ""}
    before = {name: getattr(row, name) if row else empty.get(name) for name in EYE_FIELDS}
    after = {name: values.get(name) if values else empty.get(name) for name in EYE_FIELDS}
    changes = changed_fields(before, after)
    if changes and values is None and row is not None:
        row.delete()
    elif changes and values is not None:
        _write_eye(row or PrescribedEye(prescription=stored, eye=eye), values)
    return {f"{eye}.{name}": change for name, change in changes.items()}
