"""A small shop for the tests of orders: one dispenser, one patient, one lab with a catalogue, orders that can be sent.

Rows are created directly where no order service is under test.
"""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from dispensing.models import (
    Fitting,
    Frame,
    Measurement,
    Patient,
    Practice,
    PrescribedEye,
    Prescription,
    StaffUser,
    WornEye,
    WornPair,
)
from dispensing.roles import Role
from dispensing.services.patient_words import WORD_FIELDS, set_search_words
from orders.models import Delivery, Lab, Order, OrderEvent
from orders.progress import EventKind, place_after
from orders.services.catalogues import import_catalogue
from orders.services.drafts import start_draft
from tests.known import there

CATALOGUE: dict[str, Any] = {
    "format": "lens-catalogue/1",
    "lab": "Quay Street Lab",
    "issued_on": "2026-11-01",
    "materials": [
        {
            "id": "m160",
            "name": "1.60",
            "index": 1.6,
            "abbe": 41,
            "density_g_cm3": 1.3,
            "min_centre_mm": 1.5,
            "min_edge_mm": {"full_rim": 1.0, "grooved": 1.6, "drilled": 2.0},
            "drillable": True,
            "impact_resistant": True,
        }
    ],
    "designs": [
        {
            "id": "sv",
            "name": "Single vision",
            "kind": "single_vision",
            "materials": ["m160"],
            "sphere": [-10.0, 8.0],
            "cylinder_max": 6.0,
            "prism_max": 4.0,
            "blanks": [{"diameter_mm": 65}, {"diameter_mm": 70}],
            "base_curves": [{"from_d": -10.0, "to_d": 8.0, "curve_d": 4.0}],
        },
        {
            "id": "prog",
            "name": "Progressive",
            "kind": "progressive",
            "materials": ["m160"],
            "sphere": [-10.0, 8.0],
            "cylinder_max": 6.0,
            "add": [0.75, 3.5],
            "prism_max": 4.0,
            "corridors": [{"length_mm": 14, "min_height_mm": 18}],
            "clearance_above_mm": 10,
            "near_inset_mm": 2.5,
            "near_zone_radius_mm": 4.0,
            "cross_above_prism_point_mm": 4.0,
            "blanks": [{"diameter_mm": 70}],
            "base_curves": [{"from_d": -10.0, "to_d": 8.0, "curve_d": 4.0}],
        },
    ],
    "treatments": [
        {"id": "ar", "name": "Anti-reflection", "kind": "antireflection", "materials": ["m160"], "excludes": []}
    ],
}
LENS = {"design": "sv", "material": "m160", "treatments": ["ar"]}


def catalogue_bytes(**changes: Any) -> bytes:
    return json.dumps({**CATALOGUE, **changes}).encode()


def dispenser(username: str = "dana", first_name: str = "Dana", last_name: str = "Okafor") -> StaffUser:
    user, _ = StaffUser.objects.get_or_create(
        username=username, defaults={"first_name": first_name, "last_name": last_name, "role": Role.DISPENSER}
    )
    return user


def patient(reference: str = "P-90001", **fields: Any) -> Patient:
    named = {"family_name": "Lindqvist", "given_names": "Åsa", "born_on": date(1985, 4, 2), "driver": False}
    row, _ = Patient.objects.get_or_create(reference=reference, defaults=named | fields)
    row.refresh_from_db()  # A day may have been given as text.
    set_search_words(row)
    row.save(update_fields=WORD_FIELDS)
    return row


def prescription(
    of: Patient, right: dict[str, Any] | None = None, left: dict[str, Any] | None = None, **fields: Any
) -> Prescription:
    """Equal small myopia with a test last month, unless told otherwise."""
    given = {
        "tested_on": timezone.localdate() - timedelta(days=30),
        "expires_on": timezone.localdate() + timedelta(days=600),
        "prescriber": "B. Prescriber",
        "signed": True,
        "use": "distance",
        "vertex_mm": 12,
    }
    row = Prescription.objects.create(patient=of, **given | fields)
    for eye, power, own in (("right", -2.25, right), ("left", -2.0, left)):
        PrescribedEye.objects.create(prescription=row, eye=eye, **{"sphere": power} | (own or {}))
    return row


def worn_pair(
    of: Patient, right: dict[str, Any] | None = None, left: dict[str, Any] | None = None, **fields: Any
) -> WornPair:
    """The pair worn now, read today: as the prescription is, unless told otherwise."""
    row = WornPair.objects.create(patient=of, **{"read_on": timezone.localdate(), "use": "distance"} | fields)
    for eye, power, own in (("right", -2.25, right), ("left", -2.0, left)):
        WornEye.objects.create(pair=row, eye=eye, **{"sphere": power} | (own or {}))
    return row


def frame(**fields: Any) -> Frame:
    sizes = {"model": "Alder 48", "a_mm": 48, "b_mm": 38, "dbl_mm": 19, "ed_mm": 50}
    return Frame.objects.create(**sizes | fields)


def fitting(of: Patient, in_frame: Frame, **figures: float) -> Fitting:
    """Figures by ``quantity_eye``; monocular PDs and heights twice read unless told otherwise."""
    row = Fitting.objects.create(
        patient=of,
        frame=in_frame,
        measured_on=timezone.localdate(),
        near_distance_mm=400,
        pre_adjusted=True,
        frame_sizes=Frame.objects.get(pk=in_frame.pk).boxed_sizes,
    )
    given: dict[str, float] = {
        "pd_mm_right": 32.0,
        "pd_mm_left": 31.5,
        "height_mm_right": 20.0,
        "height_mm_left": 20.0,
        "vertex_mm_right": 12.0,
        "vertex_mm_left": 12.0,
        "binocular_pd_mm_both": 63.5,
        "pantoscopic_deg_both": 8.0,
        "face_form_deg_both": 4.0,
    }
    for name, value in (given | figures).items():
        quantity, eye = name.rsplit("_", 1)
        Measurement.objects.create(fitting=row, eye=eye, quantity=quantity, value=value, readings=[value, value])
    return row


def lab(name: str = "Quay Street Lab", **fields: Any) -> Lab:
    row, made = Lab.objects.get_or_create(
        name=name, defaults={"email": "orders@quay-street.invalid", "account": "4711"} | fields
    )
    if made:
        import_catalogue(lab=row, content=catalogue_bytes(lab=name), actor=None)
    return row


def practice() -> Practice:
    """The practice with its name; what else a test set stays."""
    row = Practice.current()
    row.name = row.name or "Harbour Lane Opticians"
    row.save()
    return row


def draft(**fields: Any) -> Order:
    """A single vision order that the check has nothing against."""
    practice()
    person = fields.pop("patient", None) or patient()
    own_frame = fields.pop("frame", None) or frame()
    chosen: dict[str, Any] = {
        "prescription": fields.pop("prescription", None) or prescription(person),
        "frame": own_frame,
        "fitting": fields.pop("fitting", None) or fitting(person, own_frame),
        "lab": lab(),
        "lenses": {"right": LENS, "left": LENS},
        "frame_source": "enclosed",
        "other_pair": True,
        "needed_on": timezone.localdate() + timedelta(days=14),
    }
    return start_draft(patient=person, actor=dispenser(), **chosen | fields)


# How an order usually gets to each place.
STORIES: dict[str, tuple[str, ...]] = {
    "draft": (),
    "sent": ("sent",),
    "at the lab": ("sent", "accepted"),
    "query to answer": ("sent", "accepted", "query"),
    "refused by the lab": ("sent", "accepted", "refused"),
    "on the way": ("sent", "accepted", "dispatched"),
    "in, to be checked": ("sent", "accepted", "dispatched", "received"),
    "checked, patient not told": ("sent", "accepted", "dispatched", "received", "passed"),
    "ready to collect": ("sent", "accepted", "dispatched", "received", "passed", "patient told"),
    "handed over": ("sent", "accepted", "dispatched", "received", "passed", "patient told", "handed over"),
    "returned to the lab": ("sent", "accepted", "dispatched", "received", "returned"),
    "to be made again": ("sent", "accepted", "dispatched", "received", "our mistake"),
    "made again": ("sent", "accepted", "dispatched", "received", "our mistake", "remade"),
    "cancelled": ("sent", "accepted", "cancelled"),
    "superseded": ("sent", "accepted", "superseded"),
}


def brought_to(place: str, order: Order | None = None) -> Order:
    """The draft, or a new one, as if it had been sent and followed as far as ``place``; nothing is drawn or mailed."""
    order = order or draft()
    told = STORIES[place]
    OrderEvent.objects.bulk_create(
        OrderEvent(order=order, kind=kind, at=timezone.now(), actor=order.created_by) for kind in told
    )
    state = told[-1] if told and told[-1] in ("cancelled", "superseded") else "sent" if told else "draft"
    sent_at = timezone.now() if told else None
    assert place_after([EventKind.CREATED, *told]) == place
    Order.objects.filter(pk=order.pk).update(state=state, sent_at=sent_at, place=place)
    return Order.objects.get(pk=order.pk)


def delivery(order: Order, state: str = "queued", channel: str = "email", message: str = "order") -> Delivery:
    """A delivery of an order that was brought to some place, with a document that says next to nothing."""
    document = order.documents.first() or order.documents.create(
        number=order.number,
        revision=order.revision,
        text='{"format":"lens-order/1"}',
        report='{"verdict":"clear"}',
        pdf=b"",
        frozen_at=there(order.sent_at),
        frozen_by=there(order.created_by),
    )
    return Delivery.objects.create(
        document=document,
        channel=channel,
        message=message,
        state=state,
        address="orders@quay-street.invalid",
        next_try_at=there(order.sent_at),
    )
