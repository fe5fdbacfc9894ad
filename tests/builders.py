"""Valid records for which a test says only what it needs: every field has a usual value, and keywords override it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import count
from typing import Any

from dispensing.models import Frame, Patient, PrescribedEye, Prescription
from dispensing.models.choices import Use

_running = count(1)


def a_patient(**changes: Any) -> Patient:
    usual = {
        "reference": f"P-{next(_running):05d}",
        "family_name": "Abernathy",
        "given_names": "Marguerite",
        "born_on": date(1968, 4, 2),
    }
    return Patient.objects.create(**(usual | changes))


def a_frame(**changes: Any) -> Frame:
    """52□18, B 38, ED 55, without a traced shape."""
    usual = {
        "model": "Alder",
        "colour": "Ink blue",
        "stock_number": f"F{next(_running)}",
        "in_stock": 1,
        "a_mm": Decimal("52.00"),
        "b_mm": Decimal("38.00"),
        "dbl_mm": Decimal("18.00"),
        "ed_mm": Decimal("55.00"),
    }
    return Frame.objects.create(**(usual | changes))


def a_prescription(patient: Patient, *, right: dict[str, Any] | None = None, **changes: Any) -> Prescription:
    """−3.25 −1.00 × 170 right and −2.75 left for distance; ``right`` overrides the right eye's columns."""
    usual = {"tested_on": date(2026, 10, 30), "prescriber": "T. Prescriber", "use": Use.DISTANCE}
    prescription = Prescription.objects.create(patient=patient, **(usual | changes))
    eye = {"sphere": Decimal("-3.25"), "cylinder": Decimal("-1.00"), "axis": 170}
    PrescribedEye.objects.create(prescription=prescription, eye="right", **(eye | (right or {})))
    PrescribedEye.objects.create(prescription=prescription, eye="left", sphere=Decimal("-2.75"))
    return prescription
