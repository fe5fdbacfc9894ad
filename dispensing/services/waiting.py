"""Writing who waits: the desk marks a patient, somebody takes them, and the wait ends."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from dispensing.models import Patient, StaffUser, Waiting
from dispensing.queries.waiting import wait_of
from dispensing.services.audit import record


class CannotWait(Exception):
    """What was asked for cannot be, in a sentence for the person who asked."""


@transaction.atomic
def mark_waiting(
    *, actor: StaffUser | None, patient: Patient, purpose: str, wanted: StaffUser | None = None, note: str = ""
) -> Waiting:
    """Put the patient on the list. ``wanted``: whom they wait for, None for anyone. Raises CannotWait.

    A wait that was left open on an earlier day ends where the new one begins.
    """
    patient = Patient.objects.select_for_update().get(pk=patient.pk)
    if (already := wait_of(patient)) is not None:
        raise CannotWait(f"{patient.full_name} is on the list already, since {_clock(already.since)}.")
    now = timezone.now()
    Waiting.objects.filter(patient=patient, ended_at=None).update(ended_at=now)
    wait = Waiting(patient=patient, wanted=wanted, purpose=purpose, note=note, since=now, marked_by=actor)
    wait.save()
    record(actor=actor, verb="waiting.mark", target=wait, patient=patient)
    return wait


@transaction.atomic
def take_waiting(*, actor: StaffUser, wait: Waiting) -> Waiting:
    """See to the patient. Raises CannotWait if somebody else has taken them, or the wait has ended."""
    stored = Waiting.objects.select_for_update().get(pk=wait.pk)
    _require_open(stored)
    if stored.taken_by is not None and stored.taken_by != actor:
        raise CannotWait(f"{stored.taken_by} took {stored.patient.full_name} at {_clock(stored.taken_at)}.")
    if stored.taken_by is None:
        stored.taken_by, stored.taken_at = actor, timezone.now()
        stored.save(update_fields=["taken_by", "taken_at"])
        record(actor=actor, verb="waiting.take", target=stored, patient=stored.patient)
    return stored


@transaction.atomic
def end_waiting(*, actor: StaffUser | None, wait: Waiting) -> Waiting:
    """The patient has been seen to, or has gone. Raises CannotWait if that was noted before."""
    stored = Waiting.objects.select_for_update().get(pk=wait.pk)
    _require_open(stored)
    stored.ended_at = timezone.now()
    stored.save(update_fields=["ended_at"])
    record(actor=actor, verb="waiting.end", target=stored, patient=stored.patient)
    return stored


def _require_open(wait: Waiting) -> None:
    if wait.ended_at is not None:
        raise CannotWait(f"{wait.patient.full_name} was taken off the list at {_clock(wait.ended_at)}.")


def _clock(at: object) -> str:
    return f"{timezone.localtime(at):%H:%M}"  # type: ignore[arg-type]  # a datetime wherever it is asked for
