"""Scans that are on their way into the record."""

from __future__ import annotations

import uuid

from django.db.models import QuerySet

from dispensing.models import PaperReading, Patient, Prescription


def paper_to_take_in(patient: Patient) -> PaperReading | None:
    """The patient's latest scan that nobody has taken in yet."""
    return PaperReading.objects.filter(patient=patient, scan=None).first()


def paper_named(patient: Patient, public_id: str) -> PaperReading | None:
    """The patient's scan with this id that is not taken in yet; None for any other text."""
    try:
        named = uuid.UUID(public_id)
    except ValueError:
        return None
    return PaperReading.objects.filter(patient=patient, scan=None, public_id=named).first()


def papers_of(prescription: Prescription) -> QuerySet[PaperReading]:
    """The readings of the scans kept with a prescription, the latest first."""
    return PaperReading.objects.filter(scan__prescription=prescription).select_related("confirmed_by", "scan")
