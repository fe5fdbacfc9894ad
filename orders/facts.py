"""The one bridge from database rows to a ``lens-order/1`` document.

It reads an order with its patient, prescription, frame, fitting, lab and catalogue and writes all of it in the
document's terms, so that the check, the pages, the PDF and the exports never look at a row. The patient's name
stays here; only the reference goes out. Whatever a reader of the paper needs beyond the format (names of designs,
the practice's address and its way of writing powers) goes under ``extra``. This module must never judge a value:
that is for the check.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any

from django.db.models import prefetch_related_objects
from django.utils import timezone

from dispensing.documents import of_values
from dispensing.fitting.by_hand import as_ordered
from dispensing.models import Fitting, Frame, Patient, Practice, Prescription, StaffUser, WornPair
from dispensing.models.fittings import MeasuredEye, Quantity
from dispensing.models.power_lines import PowerLine
from dispensing.models.prescriptions import Source
from dispensing.prescribing.uses import comparable_uses
from dispensing.queries.limits import practice_limits
from dispensing.queries.worn_pairs import worn_now
from dispensing.trade import PracticeLimits
from dispensing.trade.light import shares_stated
from dispensing.trade.remark_words import mentions
from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.documents.lens_order import (
    FORMAT,
    CatalogueStamp,
    Eye,
    FittedEye,
    FittingPart,
    FramePart,
    KeptLens,
    LabName,
    LensesPart,
    LensOrder,
    Lifted,
    OrderedBy,
    OrderedLens,
    PatientFacts,
    PrescriptionPart,
    PresentSpectacles,
    PrismPart,
    ShapePart,
)
from orders.documents.lens_order import Practice as PracticePart
from orders.documents.lens_order import PrescribedEye as EyePart
from orders.models import Catalogue, Order


def order_document(
    order: Order,
    *,
    lifted: Sequence[dict[str, Any]] = (),
    on: date | None = None,
    limits: PracticeLimits | None = None,
) -> LensOrder:
    """The order in its present state, as a document.

    ``lifted``: the stops lifted and asks confirmed that still hold (see ``services.judging``; those given for other
    facts have lapsed). ``on``: the day that counts as the day of the order; None means today. ``limits``: the
    practice's own limits, if already read.
    """
    catalogue, practice = catalogue_of(order), Practice.current()
    # One query for all eyes and one for all figures, even if the order was not fetched for a page.
    prefetch_related_objects([order], "prescription__eyes", "fitting__frame", "fitting__measurements")
    return LensOrder(
        format=FORMAT,
        number=order.number,
        revision=order.revision,
        purpose=_word(order.purpose),
        remake_of=order.remake_of.number if order.remake_of else None,
        ordered_on=on or timezone.localdate(),
        needed_on=order.needed_on,
        use=_word(order.use),
        power_basis=_word(order.power_basis),
        practice=_practice(practice, order, limits or practice_limits()),
        lab=LabName(name=order.lab.name if order.lab else None),
        patient=_patient(order),
        prescription=_prescription(order.prescription) if order.prescription else PrescriptionPart(),
        previous_prescription=_previous(order.prescription),
        frame=_frame(order),
        fitting=fitting_part(order.fitting, practice) if order.fitting else FittingPart(),
        lenses=_lenses(order, catalogue),
        kept_lens=_kept_lens(order.kept_lens, catalogue),
        other_pair=order.other_pair,
        **_ordered_by(order.registered),
        **_catalogue(order.catalogue),
        **_priority(order.priority),
        supply=_word(order.supply),
        remarks=order.remarks,
        lifted=lifted_parts(lifted),
    )


def _ordered_by(person: StaffUser | None) -> dict[str, Any]:
    """Only if somebody is named, so that a document without the key says that nobody is."""
    if person is None or not person.registered_as:
        return {}
    return {"ordered_by": OrderedBy(name=person.display_name, registration=person.registered_as)}


def _priority(priority: str) -> dict[str, Any]:
    """The format has no key for it, so it stands under ``extra``, and only if it is not the usual one."""
    return {"extra": {"priority": priority}} if priority else {}


def _catalogue(catalogue: Catalogue | None) -> dict[str, Any]:
    if catalogue is None:
        return {}
    return {"catalogue": CatalogueStamp(issued_on=catalogue.issued_on, sha256=catalogue.sha256)}


def catalogue_of(order: Order) -> LensCatalogue | None:
    """The catalogue the order is drawn up from; None if no lab is chosen yet or the lab has not issued one."""
    return catalogue_document(order.catalogue) if order.catalogue else None


def catalogue_document(row: Catalogue) -> LensCatalogue:
    """An imported catalogue as a document; each text is parsed only once."""
    return _parsed(row.text)


@lru_cache(maxsize=32)
def _parsed(text: str) -> LensCatalogue:
    return parse_catalogue(text)


def _figure(value: Decimal | int | None) -> float | None:
    return None if value is None else float(value)


def _word(stored: str) -> Any:
    """A word as stored; the document defines which words are allowed."""
    return stored or None


def _practice(practice: Practice, order: Order, limits: PracticeLimits) -> PracticePart:
    return PracticePart(
        name=practice.name or None,
        account=(order.lab.account or None) if order.lab else None,
        country=practice.country or None,
        extra={
            "address": practice.address,
            "phone": practice.phone,
            "email": practice.email,
            "state": practice.state,
            "cylinder_form": practice.cylinder_form,
            "right_heading": practice.right_heading,
            "left_heading": practice.left_heading,
            **({"paper": practice.paper} if practice.paper else {}),
            **_own(limits),
        },
    )


def _own(limits: PracticeLimits) -> dict[str, Any]:
    """The figures this practice set in place of the trade's; the printed cautions use them, whoever prints it."""
    return {"limits": {rule: dict(figures) for rule, figures in limits.values.items()}} if limits.values else {}


def _patient(order: Order) -> PatientFacts:
    patient = order.patient
    facts = PatientFacts(
        reference=patient.reference,
        born_on=patient.born_on,
        driver=patient.driver,
        protected=patient.sight_impaired,
        **_hazards(patient),
    )
    worn = worn_now(patient, order.prescription.use if order.prescription else "", timezone.localdate())
    return facts.model_copy(update={"present_spectacles": _worn_pair(worn)}) if worn else facts


def _hazards(patient: Patient) -> dict[str, Any]:
    """The words about a danger to the eye in occupation and recreation; no more of either leaves the practice."""
    lives = (patient.occupation, patient.recreation)
    found = [mention.said for text in lives for mention in mentions(text, "hazard")]
    return {"extra": {"hazards": found}} if found else {}


FROM_OUTSIDE = (Source.WRITTEN, Source.SENT)


def _prescription(prescription: Prescription) -> PrescriptionPart:
    return PrescriptionPart(
        tested_on=prescription.tested_on,
        expires_on=prescription.expires_on,
        prescriber=prescription.prescriber or None,
        source=prescription.source or None,
        signed=prescription.signed,
        vertex_mm=_figure(prescription.vertex_mm),
        use=_word(prescription.use),
        right=_prescribed_eye(prescription.eye("right")),
        left=_prescribed_eye(prescription.eye("left")),
        **_paper(prescription),
    )


def _paper(prescription: Prescription) -> dict[str, Any]:
    """What its paper says: of one from outside, whether where the prescriber is (the address itself stays here), and
    what was read off its scans, to be compared with what is recorded.
    """
    extra: dict[str, Any] = {}
    if prescription.source in FROM_OUTSIDE:
        extra = {"from_outside": True, "address_given": bool(prescription.prescriber_address.strip())}
    if prescription.read_off_paper:
        extra["paper"] = prescription.read_off_paper
    return {"extra": extra} if extra else {}


def _prescribed_eye(eye: PowerLine | None) -> EyePart:
    if eye is None:
        return EyePart()
    parts = [
        (eye.prism_horizontal, eye.prism_horizontal_base),
        (eye.prism_vertical, eye.prism_vertical_base),
    ]
    return EyePart(
        sphere=_figure(eye.sphere),
        cylinder=_figure(eye.cylinder),
        axis=_figure(eye.axis),
        add=_figure(eye.add),
        intermediate_add=_figure(eye.intermediate_add),
        prism=tuple(PrismPart(amount=_figure(amount), base=_word(base)) for amount, base in parts if amount),
        acuity=eye.acuity or None,
        **({"extra": {"balance": True}} if getattr(eye, "balance", False) else {}),
    )


WORN_FACTS = ("likes", "dislikes", "tasks", "distances")


def _worn_pair(pair: WornPair) -> PresentSpectacles:
    """The pair worn now; what the format has no key for stands under ``extra``, and only if it is known."""
    told: dict[str, Any] = {"design_kind": pair.kind, "age_years": _figure(pair.age_years)}
    told |= {name: getattr(pair, name) for name in WORN_FACTS}
    for row in pair.eyes.all():
        sizes = {"height_mm": _figure(row.height_mm), "base_curve_d": _figure(row.base_curve_d)}
        told[row.eye] = {name: size for name, size in sizes.items() if size is not None}
    return PresentSpectacles(
        read_on=pair.read_on,
        use=_word(pair.use),
        right=_prescribed_eye(pair.right),
        left=_prescribed_eye(pair.left),
        extra={name: value for name, value in told.items() if value not in (None, "", {})},
    )


def previous_prescription(prescription: Prescription) -> Prescription | None:
    """The patient's latest earlier prescription that can be compared: from an earlier test, for the same distance."""
    return (
        Prescription.objects.filter(
            patient_id=prescription.patient_id,
            tested_on__lt=prescription.tested_on,
            use__in=comparable_uses(prescription.use),
        )
        .prefetch_related("eyes")
        .order_by("-tested_on", "-pk")
        .first()
    )


def _previous(prescription: Prescription | None) -> PrescriptionPart | None:
    earlier = previous_prescription(prescription) if prescription else None
    return _prescription(earlier) if earlier else None


def _frame(order: Order) -> FramePart:
    source = _word(order.frame_source)
    return FramePart(source=source, **_frame_facts(order.frame)) if order.frame else FramePart(source=source)


def _frame_facts(frame: Frame) -> dict[str, Any]:
    return {
        "model": frame.model or None,
        "mount": frame.mount,
        "a_mm": _figure(frame.a_mm),
        "b_mm": _figure(frame.b_mm),
        "dbl_mm": _figure(frame.dbl_mm),
        "ed_mm": _figure(frame.ed_mm),
        "front_curve_d": _figure(frame.front_curve_d),
        "shape": ShapePart(side="right", radii_mm=tuple(frame.radii_mm)) if frame.radii_mm else None,
        "extra": {
            "colour": frame.colour,
            "stock_number": frame.stock_number,
            "material": frame.material,
            **({"side_length_mm": frame.side_length_mm} if frame.side_length_mm else {}),
        },
    }


def frame_part(frame: Frame) -> FramePart:
    """A frame by itself, in the document's terms; ``extra.id`` leads to its own page."""
    facts = _frame_facts(frame)
    facts["extra"] = {**facts["extra"], "id": str(frame.public_id)}
    return FramePart(**facts)


def fitting_part(fitting: Fitting, practice: Practice) -> FittingPart:
    """The figures as the fitting's own page shows them: the mean of the readings, rounded to the practice's step."""

    def figure(quantity: Quantity, eye: str = MeasuredEye.BOTH) -> float | None:
        row = fitting.figure(quantity, eye)
        unit = "mm" if quantity.value.endswith("_mm") else "°"
        return as_ordered(float(row.value), unit, float(practice.rounding_mm)) if row else None

    def fitted(eye: Eye) -> FittedEye:
        return FittedEye(
            pd_mm=figure(Quantity.PD, eye),
            near_pd_mm=figure(Quantity.NEAR_PD, eye),
            height_mm=figure(Quantity.HEIGHT, eye),
            vertex_mm=figure(Quantity.VERTEX, eye),
        )

    return FittingPart(
        right=fitted("right"),
        left=fitted("left"),
        binocular_pd_mm=figure(Quantity.BINOCULAR_PD),
        pantoscopic_deg=figure(Quantity.PANTOSCOPIC),
        face_form_deg=figure(Quantity.FACE_FORM),
        near_distance_mm=_figure(fitting.near_distance_mm),
        readings=readings_of(fitting),
        measured_in_this_frame=fitting.measured_in_this_frame,
        pre_adjusted=fitting.pre_adjusted,
    )


def readings_of(fitting: Fitting) -> int | None:
    """How many times the figures that centre the lenses were measured: the fewest readings of any PD or height."""
    counts = [row.reading_count for row in fitting.measurements.all() if row.quantity in (Quantity.PD, Quantity.HEIGHT)]
    return min(counts, default=None)


def _lenses(order: Order, catalogue: LensCatalogue | None) -> LensesPart:
    lenses, powers = order.lenses or {}, order.powers or {}
    return LensesPart(
        right=_lens(lenses.get("right"), powers.get("right"), catalogue),
        left=_lens(lenses.get("left"), powers.get("left"), catalogue),
    )


def _lens(
    lens: dict[str, Any] | None, power: dict[str, Any] | None, catalogue: LensCatalogue | None
) -> OrderedLens | None:
    """The lens with the power stated for it, which is kept by eye: two lenses chosen alike still differ in power."""
    stated = {"power": power} if power else {}
    return None if lens is None else of_values(OrderedLens, {**lens, **stated, "extra": _names(lens, catalogue)})


KEPT_LENS_NAMES = ("design_name", "material_name", "treatment_names")


def _kept_lens(lens: dict[str, Any] | None, catalogue: LensCatalogue | None) -> KeptLens | None:
    """What is known about the lens that stays, with its names if it is given by the catalogue's codes."""
    if lens is None:
        return None
    known = {name: value for name, value in _names(lens, catalogue).items() if name in KEPT_LENS_NAMES}
    return of_values(KeptLens, {**lens, "extra": known})


def _names(lens: dict[str, Any], catalogue: LensCatalogue | None) -> dict[str, Any]:
    """The catalogue's names for the codes, for paper and for readers who do not have the catalogue."""
    if catalogue is None:
        return {}
    design, material = catalogue.design(lens.get("design")), catalogue.material(lens.get("material"))
    codes = lens.get("treatments") or ()
    treatments = [catalogue.treatment(code) for code in codes]
    return {
        "design_name": design.name if design else None,
        "design_kind": design.kind if design else None,
        "compensated": design.compensated if design else None,
        "material_name": material.name if material else None,
        "index": material.index if material else None,
        "impact_resistant": material.impact_resistant if material else None,
        "treatment_names": [one.name if one else code for code, one in zip(codes, treatments, strict=True)],
        "treatment_kinds": [treatment.kind for treatment in treatments if treatment],
        "luminous_transmittances": shares_stated(
            ((treatment.kind, treatment.luminous_transmittance) for treatment in treatments if treatment),
            lens.get("colour"),
        ),
    }


def lifted_parts(entries: Sequence[dict[str, Any]]) -> tuple[Lifted, ...] | None:
    """What was lifted and confirmed, in the document's terms; None if nothing was."""
    names = ("rule", "eye", "reason", "by")
    return tuple(Lifted.model_validate({name: entry.get(name) for name in names}) for entry in entries) or None
