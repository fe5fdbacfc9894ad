"""The distance power along the horizontal that a patient's lenses will have: what a computed near PD needs."""

from __future__ import annotations

from dispensing.models import Patient, PrescribedEye, Prescription
from dispensing.models.choices import Use
from dispensing.optics.power import SphereCylinder

HORIZONTAL_DEG = 180.0


def horizontal_powers(patient: Patient) -> dict[str, float]:
    """Power in D along 180 for each eye in the latest distance prescription; an eye without one is left out."""
    latest = (
        Prescription.objects.filter(patient=patient, use__in=[Use.DISTANCE, Use.DISTANCE_AND_NEAR])
        .prefetch_related("eyes")
        .first()
    )
    if latest is None:
        return {}
    return {eye.eye: _along_horizontal(eye) for eye in latest.eyes.all() if eye.sphere is not None}


def _along_horizontal(eye: PrescribedEye) -> float:
    cylinder = None if eye.cylinder is None else float(eye.cylinder)
    power = SphereCylinder.written(float(eye.sphere or 0), cylinder, eye.axis)
    return power.power_along(HORIZONTAL_DEG)
