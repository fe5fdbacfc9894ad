"""Writing patients: registering one and correcting one. Each adds a line to the audit trail."""

from collections.abc import Collection, Sequence
from typing import Any

from django.db import transaction
from django.utils import timezone

from dispensing.models import Patient, StaffUser
from dispensing.queries.duplicates import possible_duplicates
from dispensing.services.audit import differing, in_words, record
from dispensing.services.meanwhile import require_version, save_next_version
from dispensing.services.numbers import next_number
from dispensing.services.patient_words import WORD_FIELDS, keep_name_keys, set_search_words

REFERENCE_PREFIX = "P"
OWNED_FIELDS = (
    "family_name",
    "given_names",
    "born_on",
    "phone",
    "email",
    "address",
    "preferred_contact",
    "may_be_contacted",
    "notices_by_email",
    "notices_by_text",
    "occupation",
    "recreation",
    "driver",
    "sight_impaired",
    "guardian",
    "notes",
)


class SeemsRegistered(Exception):
    """Nobody was registered: ``similar`` may be the same person, and nobody has yet said that they are not."""

    def __init__(self, similar: Sequence[Patient]):
        self.similar = similar
        listed = ", ".join(sorted(patient.reference for patient in similar))
        super().__init__(f"This may be the same person as {listed}.")


@transaction.atomic
def register_patient(*, actor: StaffUser | None, although_similar_to: Collection[str] = (), **fields: Any) -> Patient:
    """Registers a new patient under the next reference. ``fields``: any of OWNED_FIELDS.

    ``although_similar_to``: references of patients who were checked and are not the same person. Raises
    ValidationError, and SeemsRegistered if somebody similar is not among them.
    """
    patient = Patient(**fields, registered_by=actor, last_seen_on=timezone.localdate())
    # From here on other registrations wait, so that the same person being registered twice at once is noticed too.
    patient.reference = next_number(Patient, "reference", REFERENCE_PREFIX)
    set_search_words(patient)
    patient.full_clean(exclude={"registered_by"})
    similar = _similar_to(patient)
    if {one.reference for one in similar} - set(although_similar_to):
        raise SeemsRegistered(similar)
    patient.save()
    keep_name_keys([patient])
    changes = {"not_the_same_as": [one.reference for one in similar]} if similar else {}
    record(actor=actor, verb="patient.register", target=patient, patient=patient, changes=changes)
    return patient


def _similar_to(patient: Patient) -> Sequence[Patient]:
    names = ("family_name", "given_names", "born_on", "phone")
    return possible_duplicates(**{name: getattr(patient, name) for name in names})


@transaction.atomic
def correct_patient(*, actor: StaffUser | None, patient: Patient, version: int | None = None, **fields: Any) -> Patient:
    """Change the named fields of a patient, and only those; nothing is recorded when nothing differs.

    ``version``: the one the change is based on. Raises ValidationError, ChangedMeanwhile.
    """
    stored = Patient.objects.select_for_update().get(pk=patient.pk)
    changes = differing({name: getattr(stored, name) for name in fields}, fields)
    require_version(stored, version, changes)
    if not changes:
        return stored
    for name in changes:
        setattr(stored, name, fields[name])
    set_search_words(stored)
    stored.full_clean(exclude={"registered_by"})
    save_next_version(stored, [*changes, *WORD_FIELDS])
    keep_name_keys([stored])
    record(actor=actor, verb="patient.correct", target=stored, patient=stored, changes=in_words(changes))
    return stored


def mark_seen(patient: Patient) -> None:
    """The patient was here today: the years for which the record is kept count from this day."""
    today = timezone.localdate()
    Patient.objects.filter(pk=patient.pk).exclude(last_seen_on__gte=today).update(last_seen_on=today)
