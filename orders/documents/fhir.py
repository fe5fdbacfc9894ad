"""An order as HL7 FHIR (R4 and R4B): the prescription as VisionPrescription, the centring as an Observation.

A second export for record systems, never the order itself: FHIR has no place for frame, lens product or shape. Pure:
it returns plain dicts, with decimals as `Decimal` so that 2.00 stays 2.00; `fhir_json` writes them. Values are taken
as written and never changed. A value that FHIR cannot hold is left out, and a note says so. Source: HL7 FHIR R4
(4.0.1), VisionPrescription and Observation.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterator
from datetime import date
from decimal import Context, Decimal
from typing import Any

from dispensing.choice_words import label
from dispensing.optics.notation import LARGEST_WRITTEN_D, format_power
from orders.documents import words
from orders.documents.lens_order import EYES, Eye, LensOrder, OrderedLens, PrescribedEye
from orders.documents.names import INSTRUCTIONS, lens_names
from orders.documents.powers_side_by_side import what_powers_stand_for

PRODUCT_SYSTEM = "http://terminology.hl7.org/CodeSystem/ex-visionprescriptionproduct"
OWN_CODES = "urn:datumline:position-of-wear"
NUMBER_SYSTEM = "urn:datumline:order-number"
REFERENCE_SYSTEM = "urn:datumline:patient-reference"
UCUM = "http://unitsofmeasure.org"
ABSENT = {"url": "http://hl7.org/fhir/StructureDefinition/data-absent-reason", "valueCode": "unknown"}
ANY_SIZE = Context(prec=400)
NAMESPACE = uuid.UUID("6f0d5a52-6f0b-4c0b-9a52-5d6f1a7b9c31")

PER_EYE = (
    ("pd_mm", "Monocular PD", "mm"),
    ("near_pd_mm", "Monocular near PD", "mm"),
    ("height_mm", "Fitting height above the lowest point of the lens shape", "mm"),
    ("vertex_mm", "Vertex distance as worn", "mm"),
)
FOR_THE_PAIR = (
    ("binocular_pd_mm", "Binocular PD", "mm"),
    ("pantoscopic_deg", "Pantoscopic tilt", "deg"),
    ("face_form_deg", "Face-form angle", "deg"),
    ("near_distance_mm", "Near working distance", "mm"),
)


def fhir_bundle(order: LensOrder) -> dict[str, Any]:
    """A Bundle (collection): Patient (reference only), VisionPrescription, and an Observation with the measurements."""
    resources = [_patient(order), _prescription(order), _position_of_wear(order)]
    entries = [{"fullUrl": _url(order, kind["resourceType"]), "resource": kind} for kind in resources if kind]
    return {"resourceType": "Bundle", "type": "collection", "entry": entries}


def fhir_json(value: Any, indent: int = 0) -> str:
    """The JSON text of dicts, lists, strings, whole numbers and decimals; a decimal keeps its decimal places."""
    pad, inner = " " * indent, " " * (indent + 2)
    if isinstance(value, dict) and value:
        parts = (f"{inner}{json.dumps(key)}: {fhir_json(item, indent + 2)}" for key, item in value.items())
        return "{\n" + ",\n".join(parts) + f"\n{pad}}}"
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(f"{inner}{fhir_json(item, indent + 2)}" for item in value) + f"\n{pad}]"
    return str(value) if isinstance(value, Decimal) else json.dumps(value, ensure_ascii=False)


def power(value: float) -> Decimal:
    """A power as paper and pages write it: to two places, or three for an eighth. One that no lens has gets two."""
    return Decimal(format_power(value)) if abs(value) <= LARGEST_WRITTEN_D else decimal(value)


def decimal(value: float) -> Decimal:
    """The number to two decimal places, and never -0.00."""
    rounded = Decimal(str(value)).quantize(Decimal("0.01"), context=ANY_SIZE)
    return rounded if rounded else Decimal("0.00")


def _url(order: LensOrder, kind: str) -> str:
    name = f"{order.practice.name}/{order.number}/{order.revision or 1}/{kind}"
    return f"urn:uuid:{uuid.uuid5(NAMESPACE, name)}"


def _date(key: str, value: date | None) -> dict[str, Any]:
    """A required date. If it is not known, FHIR wants the reason instead."""
    return {key: value.isoformat()} if value else {f"_{key}": {"extension": [ABSENT]}}


def _patient(order: LensOrder) -> dict[str, Any]:
    reference = order.patient.reference
    return {
        "resourceType": "Patient",
        **({"identifier": [{"system": REFERENCE_SYSTEM, "value": reference}]} if reference else {}),
    }


def _prescription(order: LensOrder) -> dict[str, Any]:
    written = order.prescription.tested_on
    number = [{"system": NUMBER_SYSTEM, "value": order.number}] if order.number else []
    return {
        "resourceType": "VisionPrescription",
        **({"identifier": number} if number else {}),
        "status": "active",
        **_date("created", order.ordered_on or written),
        "patient": {"reference": _url(order, "Patient")},
        **_date("dateWritten", written),
        "prescriber": {"display": order.prescription.prescriber or "not stated"},
        "lensSpecification": [_lens(order, eye) for eye in EYES],
    }


def _lens(order: LensOrder, eye: Eye) -> dict[str, Any]:
    prescribed, notes = order.prescription.eye(eye), [*_notes(order.lenses.eye(eye)), *_made(order, eye)]
    powers = {"sphere": prescribed.sphere, **_cylinder(prescribed, notes), "add": prescribed.add}
    if words.prescribes_balance(prescribed):
        notes.append("A balance lens is prescribed.")
    if prescribed.intermediate_add is not None:
        notes.append(f"Intermediate add {words.power(prescribed.intermediate_add)}.")
    specification: dict[str, Any] = {
        "product": {"coding": [{"system": PRODUCT_SYSTEM, "code": "lens"}]},
        "eye": eye,
        **{
            name: power(value) if isinstance(value, float) else value
            for name, value in powers.items()
            if value is not None
        },
    }
    if prism := _prism(prescribed):
        specification["prism"] = prism
    if tint := _tint(order.lenses.eye(eye)):
        specification["color"] = tint
    if notes:
        specification["note"] = [{"text": text} for text in notes]
    return specification


def _cylinder(prescribed: PrescribedEye, notes: list[str]) -> dict[str, float | int]:
    """Cylinder and axis are both given or both left out. FHIR's axis is a whole number; ours is within half a turn."""
    cylinder, axis = prescribed.cylinder, prescribed.axis
    if not cylinder:
        return {}
    if axis is None or axis != int(axis) or not 0 <= axis <= 180:
        notes.append(f"Cylinder {words.power(cylinder)} axis {words.axis(axis) if axis is None else f'{axis:g}'}.")
        return {}
    return {"cylinder": float(cylinder), "axis": int(axis)}


def _prism(prescribed: PrescribedEye) -> list[dict[str, Any]]:
    """One entry for each base direction, horizontal first. Prisms the same way add up; opposite ones cancel out."""
    parts: list[dict[str, Any]] = []
    for plus, minus in (("in", "out"), ("up", "down")):
        total = sum(
            (part.amount or 0.0) * (1 if part.base == plus else -1)
            for part in prescribed.prism
            if part.base in (plus, minus)
        )
        if decimal(total):
            parts.append({"amount": decimal(abs(total)), "base": plus if total > 0 else minus})
    return parts


def _notes(lens: OrderedLens | None) -> Iterator[str]:
    if lens is None:
        yield "No lens is ordered for this eye."
        return
    named = lens_names(lens)
    tint = _tint(lens)
    said = (named.design, named.material, *named.treatments, tint and f"tint {tint}")
    yield f"Lens ordered: {', '.join(text for text in said if text)}."
    if lens.instruction is not None:
        yield f"{label(INSTRUCTIONS[lens.instruction])}."


def _tint(lens: OrderedLens | None) -> str:
    """The tint in words. FHIR's ``color`` is meant for contact lenses, so readers of spectacles find it in the note."""
    return ((lens.colour if lens else None) or "").strip()


def _made(order: LensOrder, eye: Eye) -> Iterator[str]:
    """The power to be made, where the order states it: the resource itself holds what was prescribed."""
    lens = order.lenses.eye(eye)
    made = lens.power if lens else None
    if lens is None or made is None or made.sphere is None:
        return
    cylinder = f" {words.power(made.cylinder)} axis {words.axis(made.axis)}" if made.cylinder else ""
    prism = f", prism {words.prism(made.prism)}" if made.prism else ""
    pd = words.extra_of(lens, "pd_used_mm")
    centred = f", centred for a PD of {pd:g} mm" if isinstance(pd, int | float) else ""
    yield f"To be made: {words.power(made.sphere)}{cylinder}{prism}{centred}. {what_powers_stand_for(order)}"


def _position_of_wear(order: LensOrder) -> dict[str, Any] | None:
    components = [
        _component(f"{eye}-{name}", f"{words_for}, {eye} eye", value, unit)
        for eye in EYES
        for name, words_for, unit in PER_EYE
        if (value := getattr(order.fitting.eye(eye), name)) is not None
    ]
    components += [
        _component(name, words_for, value, unit)
        for name, words_for, unit in FOR_THE_PAIR
        if (value := getattr(order.fitting, name)) is not None
    ]
    if not components:
        return None
    return {
        "resourceType": "Observation",
        "status": "final",
        "code": {"text": "Position of wear"},
        "subject": {"reference": _url(order, "Patient")},
        "component": components,
    }


def _component(code: str, text: str, value: float, unit: str) -> dict[str, Any]:
    return {
        "code": {"coding": [{"system": OWN_CODES, "code": code.replace("_", "-")}], "text": text},
        "valueQuantity": {"value": decimal(value), "unit": unit, "system": UCUM, "code": unit},
    }
