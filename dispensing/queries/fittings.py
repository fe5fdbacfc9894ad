"""Reading fittings with their figures: two queries, however many figures there are."""

from __future__ import annotations

from uuid import UUID

from django.db.models import Prefetch, QuerySet

from dispensing.models import AuditEvent, Fitting, Frame, Measurement
from dispensing.models.fittings import Method, Quantity


def fittings() -> QuerySet[Fitting]:
    """Fittings with frame, patient, recorder and figures, newest first."""
    figures = Measurement.objects.select_related("taken_by")
    return Fitting.objects.select_related("frame", "patient", "recorded_by").prefetch_related(
        Prefetch("measurements", queryset=figures)
    )


def other_fittings(fitting: Fitting) -> QuerySet[Fitting]:
    """The same patient's other fittings with their frames, newest first. For a list, so without figures."""
    return Fitting.objects.filter(patient=fitting.patient_id).exclude(pk=fitting.pk).select_related("frame")


def face_form_of(frame: Frame) -> Measurement | None:
    """The face-form angle last measured in this frame, on whichever face: it belongs to the frame's front. None if
    nobody measured it since the frame's sizes were last changed.
    """
    measured = Measurement.objects.filter(quantity=Quantity.FACE_FORM, fitting__frame=frame).exclude(
        method=Method.COPIED
    )
    newest_first = measured.select_related("fitting").order_by("-fitting__measured_on", "-fitting_id")
    return next((row for row in newest_first if row.fitting.frame_sizes == frame.boxed_sizes), None)


def history_of(public_id: UUID) -> QuerySet[AuditEvent]:
    """What was done to one fitting, newest first."""
    return AuditEvent.objects.filter(record="fitting", record_id=public_id).select_related("actor")
