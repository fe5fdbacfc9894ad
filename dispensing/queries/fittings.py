"""Reading fittings with their figures: two queries, however many figures there are."""

from __future__ import annotations

from uuid import UUID

from django.db.models import Prefetch, QuerySet

from dispensing.models import AuditEvent, Fitting, Measurement


def fittings() -> QuerySet[Fitting]:
    """Fittings with frame, patient, recorder and figures, newest first."""
    figures = Measurement.objects.select_related("taken_by")
    return Fitting.objects.select_related("frame", "patient", "recorded_by").prefetch_related(
        Prefetch("measurements", queryset=figures)
    )


def other_fittings(fitting: Fitting) -> QuerySet[Fitting]:
    """The same patient's other fittings with their frames, newest first. For a list, so without figures."""
    return Fitting.objects.filter(patient=fitting.patient_id).exclude(pk=fitting.pk).select_related("frame")


def history_of(public_id: UUID) -> QuerySet[AuditEvent]:
    """What was done to one fitting, newest first."""
    return AuditEvent.objects.filter(record="fitting", record_id=public_id).select_related("actor")
