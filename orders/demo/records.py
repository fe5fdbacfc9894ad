"""The demo's frames and patients with their prescriptions and fittings. Ages and dates count back from today."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from dispensing.models import Fitting, Frame, Patient, StaffUser
from dispensing.models.fittings import Method
from dispensing.models.frames import ShapeOrigin
from dispensing.optics.boxing import LensShape
from dispensing.services.fittings import FigureTaken, record_fitting
from dispensing.services.frame_shapes import FrameShape
from dispensing.services.frames import add_frame
from dispensing.services.patients import register_patient
from dispensing.services.prescriptions import take_in_prescription
from orders.demo.clock import days_ago

PERSON = (
    "given_names",
    "family_name",
    "phone",
    "email",
    "address",
    "preferred_contact",
    "may_be_contacted",
    "occupation",
    "recreation",
    "driver",
    "guardian",
    "sight_impaired",
)
FRAME = (
    "model",
    "colour",
    "stock_number",
    "in_stock",
    "material",
    "mount",
    "a_mm",
    "b_mm",
    "dbl_mm",
    "ed_mm",
    "front_curve_d",
    "side_length_mm",
)
DAYS_A_YEAR = 365.2425
DAYS_A_MONTH = 30.4
WRAPPED_FROM_D = 7.0


def load_frames(rows: list[dict[str, Any]], actor: StaffUser) -> dict[str, Frame]:
    """The frames by model and size; if a frame comes in several colours, the first."""
    frames: dict[str, Frame] = {}
    for row in rows:
        frame = add_frame(actor=actor, fields={name: _exact_if_figure(row[name]) for name in FRAME}, shape=_shape(row))
        frames.setdefault(frame_key(row), frame)
    return frames


def frame_key(row: dict[str, Any]) -> str:
    """How the demo's patients name a frame: ``Alder 48``."""
    return f"{row['model']} {row['a_mm']}"


def _shape(row: dict[str, Any]) -> FrameShape | None:
    if not row["radii_mm"]:
        return None
    return FrameShape(LensShape(row["radii_mm"], "right"), ShapeOrigin.RADII)


def load_patient(row: dict[str, Any], desk: StaffUser) -> Patient:
    born_on = _born_on(row)
    first_here = max(prescription["months_ago"] for prescription in row["prescriptions"]) * DAYS_A_MONTH
    with days_ago(first_here):
        patient = register_patient(actor=desk, born_on=born_on, **{name: row[name] for name in PERSON})
    for prescription in reversed(row["prescriptions"]):
        with days_ago(prescription["months_ago"] * DAYS_A_MONTH):
            _load_prescription(patient, prescription, desk)
    return patient


def _born_on(row: dict[str, Any]) -> date:
    """The date of birth of a patient of the given age whose next birthday is ``birthday_in_days`` away."""
    next_birthday = timezone.localdate() + timedelta(days=row["birthday_in_days"])
    return next_birthday - timedelta(days=round((row["age"] + 1) * DAYS_A_YEAR))


def _load_prescription(patient: Patient, row: dict[str, Any], desk: StaffUser) -> None:
    take_in_prescription(
        actor=desk,
        patient=patient,
        facts={
            "tested_on": timezone.localdate(),
            "expires_on": timezone.localdate() + timedelta(days=730),
            "prescriber": "Miriam Okafor-Lund",
            "source": row["source"],
            "signed": True if row["source"] == "written" else None,
            "use": row["use"],
            "vertex_mm": _exact(row["vertex_mm"]),
        },
        eyes={eye: _eye(row[eye]) for eye in ("right", "left")},
    )


def _exact_if_figure(value: Any) -> Any:
    return _exact(value) if isinstance(value, float) else value


def _exact(value: float | None) -> Decimal | None:
    return None if value is None else Decimal(str(value))


def _eye(row: dict[str, Any]) -> dict[str, Any]:
    prisms = {("horizontal" if part["base"] in ("in", "out") else "vertical"): part for part in row["prism"]}
    fields: dict[str, Any] = {name: row[name] for name in ("axis", "acuity")}
    fields |= {name: _exact(row[name]) for name in ("sphere", "cylinder", "add", "intermediate_add")}
    for direction, part in prisms.items():
        fields |= {f"prism_{direction}": _exact(part["amount"]), f"prism_{direction}_base": part["base"]}
    return fields


def load_fitting(row: dict[str, Any], patient: Patient, frame: Frame, dispenser: StaffUser) -> Fitting:
    """Two readings of each figure used to centre a lens, with the angles of an ordinary fit."""
    wrapped = float(frame.front_curve_d or 0) >= WRAPPED_FROM_D
    return record_fitting(
        actor=dispenser,
        patient=patient,
        frame=frame,
        measured_on=timezone.localdate(),
        pre_adjusted=True,
        near_distance_mm=400,
        figures=[
            *_figures("pd_mm", row["pd"], Method.PUPILLOMETER),
            *_figures("height_mm", row["height"] or _usual_height(frame), Method.RULE),
            *_figures("vertex_mm", (13.0, 13.0), Method.RULE),
            FigureTaken("binocular_pd_mm", "both", (sum(row["pd"]),), Method.PUPILLOMETER),
            FigureTaken("pantoscopic_deg", "both", (9.0,), Method.GAUGE),
            FigureTaken("face_form_deg", "both", (18.0 if wrapped else 5.0,), Method.GAUGE),
        ],
    )


def _usual_height(frame: Frame) -> tuple[float, float]:
    return (float(frame.b_mm or 36) / 2 + 1.5,) * 2


def _figures(quantity: str, values: Any, method: Method) -> list[FigureTaken]:
    readings = [(value - 0.5, value + 0.5) if method == Method.RULE else (value, value) for value in values]
    return [
        FigureTaken(quantity, eye, reading, method) for eye, reading in zip(("right", "left"), readings, strict=True)
    ]
