"""The demo's orders: lenses that suit each patient, and orders at every stage from draft to hand-over."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.utils import timezone

from dispensing.models import Fitting, Patient, StaffUser
from dispensing.queries.protection import why_protected
from orders.causes import Cause
from orders.demo.clock import days_ago
from orders.demo.mail import deliver, try_in_vain
from orders.documents.lens_catalogue import Design, LensCatalogue
from orders.facts import catalogue_document
from orders.finished_queries import document_of, wore_progressives_before
from orders.models import Delivery, Lab, Order
from orders.progress import EventKind
from orders.queries import for_page
from orders.sending.by_hand import withhold_delivery
from orders.services.aftercare import note_aftercare
from orders.services.amending import amend_order
from orders.services.cancelling import cancel_order
from orders.services.deciding import decide
from orders.services.drafts import save_draft, start_draft
from orders.services.events import record_event
from orders.services.handing_over import hand_over
from orders.services.judging import judge
from orders.services.lifting import lift
from orders.services.remakes import start_remake
from orders.services.sending import send_order
from orders.supplying.cautions import told_to_the_wearer
from orders.supplying.follow_up import follow_up_day

# What happens to a pair after its order is sent, in sequence: kind, days after sending, note.
STORY = (
    (EventKind.ACCEPTED, 0.2, ""),
    (EventKind.QUERY, 1.0, "Is the frame on its way to us?"),
    (EventKind.ANSWER, 1.2, "It left with yesterday's post."),
    (EventKind.DELAYED, 4.0, "Coating line down, two days more."),
    (EventKind.DISPATCHED, 6.0, ""),
    (EventKind.RECEIVED, 7.0, ""),
    (EventKind.RETURNED, 7.2, "Left axis out of tolerance."),
    (EventKind.DISPATCHED, 11.0, ""),
    (EventKind.RECEIVED, 12.0, ""),
    (EventKind.PASSED, 12.1, ""),
    (EventKind.PATIENT_TOLD, 12.2, "By text message."),
    (EventKind.HANDED_OVER, 14.0, ""),
)
# How far each demo order has got, patient by patient: positions of its events in the story above, and days since it
# was sent. Patients beyond the end of this list have no order yet, because each PDF really is drawn and takes time.
STAGES: tuple[tuple[str, tuple[int, ...], float], ...] = (
    ("handed over", (0, 4, 5, 9, 10, 11), 21),
    ("at the lab", (0,), 3),
    ("draft", (), 0),
    ("sent", (), 0.1),
    ("in, to be checked", (0, 4, 5), 8),
    ("query to answer", (0, 1), 2),
    ("ready to collect", (0, 4, 5, 9, 10), 13),
    ("at the lab, late", (0, 1, 2, 3), 16),
    ("on the way", (0, 4), 7),
    ("returned to the lab", (0, 4, 5, 6), 8),
    ("checked, patient not told", (0, 4, 5, 9), 13),
    ("cancelled", (), 5),
    ("superseded", (0,), 4),
    ("handed over after a return", (0, 4, 5, 6, 7, 8, 9, 10, 11), 30),
    ("held back", (), 0.2),
    ("made again", (0, 4, 5, 9, 10, 11), 28),
    ("draft", (), 0),
    ("at the lab", (0,), 2),
    ("ready to collect", (0, 4, 5, 9, 10), 15),
    ("draft", (), 0),
    ("did not reach the lab", (), 3),
)
NEEDED_AFTER_DAYS = 14
AN_HOUR = 1 / 24
WRAP_BASE_D = 8.0


def lenses_for(row: dict[str, Any], catalogue: LensCatalogue) -> dict[str, Any]:
    """Lenses that a dispenser might choose from this catalogue for this kind of patient."""
    design = _design(row, catalogue)
    material = _material(row, design, catalogue)
    sun = "wrap sun" in row["kind"] or "plano sun" in row["kind"]
    wanted = ["polarised"] if sun else ["antireflection"]
    if material in _impact_materials(catalogue):
        wanted.append("hard")
    lens: dict[str, Any] = {"design": design.id, "material": material}
    lens["treatments"] = [_treatment(kind, material, catalogue) for kind in wanted]
    if design.corridors and row["height"]:
        lens["corridor_mm"] = _corridor(design, min(row["height"]))
    return lens


def _design(row: dict[str, Any], catalogue: LensCatalogue) -> Design:
    kind = row["kind"]
    designs = catalogue.designs
    single_vision = [design for design in designs if design.kind == "single_vision"]
    if "sun" in kind:
        return next(design for design in single_vision if design.base_curves[0].curve_d == WRAP_BASE_D)
    if not row["prescriptions"][0]["right"]["add"]:
        return next(design for design in single_vision if (design.prism_max or 0) >= 6)
    if "bifocal" in kind or "sight-impaired" in kind:
        return next(d for d in designs if d.kind == "bifocal" and d.segment and d.segment.width_mm == 28)
    if "trifocal" in kind:
        return next(design for design in designs if design.kind == "trifocal")
    progressives = [d for d in designs if d.kind == "progressive"]
    shallow = row["height"] and min(row["height"]) < 18.5
    if shallow:
        return min(progressives, key=lambda design: min(corridor.length_mm for corridor in design.corridors))
    return next(design for design in progressives if bool(design.needs) == (_strength(row) > 5))


def _strength(row: dict[str, Any]) -> float:
    first = row["prescriptions"][0]
    return max(abs(float(first[eye]["sphere"]) + (first[eye]["cylinder"] or 0.0) / 2) for eye in ("right", "left"))


def _impact_materials(catalogue: LensCatalogue) -> set[str]:
    return {material.id for material in catalogue.materials if material.impact_resistant}


def _material(row: dict[str, Any], design: Design, catalogue: LensCatalogue) -> str:
    offered = [material for material in catalogue.materials if material.id in design.materials]
    needs_impact = row["age"] < 18 or "sun" in row["kind"]
    if needs_impact:
        tough = [material for material in offered if material.impact_resistant]
        return max(tough, key=lambda material: (material.index if "sun" in row["kind"] else material.abbe) or 0.0).id
    strength = _strength(row)
    wanted = 1.5 if strength < 2.5 else 1.6 if strength < 5 else 1.67
    if row["frame"] and row["frame"].startswith(("Elver", "Egret", "Osier")):
        offered = [material for material in offered if material.drillable]
    return min(offered, key=lambda material: (abs(material.index - wanted), material.impact_resistant or False)).id


def _treatment(kind: str, material: str, catalogue: LensCatalogue) -> str:
    return next(t.id for t in catalogue.treatments if t.kind == kind and material in t.materials)


def _corridor(design: Design, height: float) -> float:
    lengths = [c.length_mm for c in design.corridors if (c.min_height_mm or 0) <= height and c.length_mm <= height - 4]
    return max(lengths) if lengths else min(c.length_mm for c in design.corridors)


def load_order(
    place: int, row: dict[str, Any], patient: Patient, fitting: Fitting, lab: Lab, dispenser: StaffUser
) -> Order:
    """Create an order for this patient and take it as far as the stage for this turn says."""
    stage, events, ago = STAGES[place]
    with days_ago(ago):
        order = _draft(row, patient, fitting, lab, dispenser)
        if stage == "draft":
            return order
        if stage == "cancelled":
            return cancel_order(order=order, actor=dispenser, reason="Patient chose to keep the old pair.")
        if not _send(order, dispenser):
            return order
        if stage == "held back":
            delivery = Delivery.objects.get(document__order=order)
            withhold_delivery(delivery=delivery, actor=dispenser, reason="The patient may choose another frame today.")
        elif stage != "did not reach the lab":
            deliver()
    if stage == "did not reach the lab":
        try_in_vain(order)
    _tell_story(order, events, ago, dispenser)
    if stage == "superseded":
        _send(_wanted_sooner(amend_order(order=for_page().get(pk=order.pk), actor=dispenser), dispenser), dispenser)
        deliver()
    if stage == "made again":
        _make_again(order, dispenser)
    return order


def measured_ago(place: int) -> float:
    """Days since the patient for this turn was measured: just before the order, if there is one."""
    return STAGES[place][2] + AN_HOUR if place < len(STAGES) else place % 20 + 1


def _draft(
    row: dict[str, Any], patient: Patient, fitting: Fitting, lab: Lab, dispenser: StaffUser, **also: Any
) -> Order:
    lens = lenses_for(row, catalogue_document(lab.catalogues.get(in_use=True)))
    return start_draft(
        patient=patient,
        actor=dispenser,
        prescription=patient.prescriptions.first(),
        fitting=fitting,
        frame=fitting.frame,
        lab=lab,
        lenses={"right": lens, "left": lens},
        frame_source="own" if fitting.frame.owner_id else "enclosed",
        needed_on=timezone.localdate() + timedelta(days=NEEDED_AFTER_DAYS),
        other_pair=True if "sun" in row["kind"] else None,
        registered=dispenser if why_protected(patient, timezone.localdate()) else None,
        **also,
    )


def _wanted_sooner(revision: Order, dispenser: StaffUser) -> Order:
    """The patient travels, so the pair is needed three days before the day first given."""
    assert revision.needed_on is not None
    sooner = {"needed_on": revision.needed_on - timedelta(days=3)}
    save_draft(order=revision, actor=dispenser, version=revision.version, fields=sooner)
    return revision


def _make_again(order: Order, dispenser: StaffUser) -> None:
    """The wearer found a scratch, so the pair was reordered three days ago."""
    with days_ago(3):
        words = "There is a line across the right lens, I see it against the light."
        found = {"findings": "A scratch of the coating, there when it was made.", "cause": "flaw", "whose": "lab"}
        note_aftercare(order=order, actor=dispenser, kind=EventKind.COMPLAINT, words=words, **found)
        said = "The right lens of the first pair was scratched. Please make it exactly as before."
        first = Order.objects.get(pk=order.pk)
        remake = start_remake(first=first, actor=dispenser, cause="flaw", whose="lab", said=said)
        needed_on = timezone.localdate() + timedelta(days=NEEDED_AFTER_DAYS)
        save_draft(order=remake, actor=dispenser, version=remake.version, fields={"needed_on": needed_on})
        if _send(remake, dispenser):
            deliver()
            record_event(order=remake, kind=EventKind.ACCEPTED, actor=dispenser)


def _send(order: Order, dispenser: StaffUser) -> bool:
    """Confirm the questions and send it; a stop leaves the order a draft."""
    order = for_page().get(pk=order.pk)
    judgement = judge(order)
    if any(part.level == "stop" for part in judgement.open_findings):
        return False
    for part in judgement.open_findings:
        lift(
            order=order,
            actor=dispenser,
            version=order.version,
            rule=part.rule,
            eye=part.eye,
            reason="Discussed with the patient.",
        )
    send_order(order=order, actor=dispenser, version=order.version)
    return True


def _tell_story(order: Order, events: tuple[int, ...], ago: float, dispenser: StaffUser) -> None:
    for position in events:
        kind, after, note = STORY[position]
        with days_ago(max(ago - after, 0)) as then:
            if kind == EventKind.RETURNED:
                decide(order=order, actor=dispenser, kind=kind, cause=Cause.AXIS, reason=note)
            elif kind == EventKind.HANDED_OVER:
                _hand_over(order, dispenser)
            else:
                record_event(order=order, kind=kind, actor=dispenser, note=note, at=then)


def _hand_over(order: Order, dispenser: StaffUser) -> None:
    """To the patient, with everything said that there is to say of such a pair."""
    document, today = document_of(order), timezone.localdate()
    assert document is not None
    hand_over(
        order=order,
        actor=dispenser,
        reference=order.patient.reference,
        born_on=order.patient.born_on,
        given_to="patient",
        fit="adjusted",
        acuity="R 6/6, L 6/6, both N5",
        cautions="\n".join(told_to_the_wearer(document)),
        care_given=True,
        patients_copy="printed",
        next_test_on=document.prescription.expires_on,
        follow_up_on=follow_up_day(document, today, worn_before=wore_progressives_before(order)),
    )
