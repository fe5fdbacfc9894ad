"""Reading fittings with their figures: two queries, however many figures there are."""

from __future__ import annotations

from uuid import UUID

from django.db.models import Prefetch, QuerySet

from dispensing.models import AuditEvent, Fitting, Frame, Measurement, Patient
from dispensing.models.fittings import Method, Quantity

PDS_LOOKED_THROUGH = 20  # of both eyes: who has had a fitting lately has them among these


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


def last_pds_of(patient: Patient) -> dict[str, Measurement]:
    """The monocular PD last measured of each eye of the patient, in whatever frame: it belongs to the face.

    Figures that were only copied from an earlier record are passed over. An eye never measured is not in it.
    """
    measured = Measurement.objects.filter(quantity=Quantity.PD, fitting__patient=patient).exclude(method=Method.COPIED)
    found: dict[str, Measurement] = {}
    for row in measured.select_related("fitting").order_by("-fitting__measured_on", "-fitting_id")[:PDS_LOOKED_THROUGH]:
        found.setdefault(row.eye, row)
    return found


def history_of(public_id: UUID) -> QuerySet[AuditEvent]:
    """What was done to one fitting, newest first."""
    return AuditEvent.objects.filter(record="fitting", record_id=public_id).select_related("actor")
