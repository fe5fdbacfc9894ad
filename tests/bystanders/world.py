"""Three households alike except for their names: ``ours`` is asked about, ``elder`` and ``younger`` only stand by.

One was there before ours and one came after it, so that a missing filter shows whichever way a list is ordered. Each
has a patient, prescriptions, frames, fittings, measurings from photos, a lab with its own user, and an order in every
state. ``namesake`` has our family name and nothing else.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.db.models import Model
from django.utils import timezone
from knox.models import AuthToken

from dispensing.models import (
    AuditEvent,
    AuthenticatorApp,
    FittingPhoto,
    Frame,
    Measurement,
    PaperReading,
    Patient,
    PhotoMeasuring,
    PracticeRule,
    PrescriptionScan,
    SignedIn,
    StaffUser,
    TokenDetail,
    Waiting,
)
from dispensing.services.audit import record
from dispensing.services.fittings import FigureTaken
from dispensing.services.patient_words import keep_name_keys, set_search_words
from orders.models import Delivery, FinishedReading, LabUser, Order
from orders.services.amending import amend_order
from orders.services.cancelling import cancel_order
from orders.services.catalogues import import_catalogue
from orders.services.judging import judge
from orders.services.lifting import lift
from orders.services.sending import send_order
from tests.orders import shop
from tests.people import person

HOUSEHOLDS = ("elder", "ours", "younger")
COMMON = ("namesake", "closed_lab", "own_rule", "other_rule")
"""Records that belong to no household."""
NAMES = {
    "elder": ("Abelson", "Petra", "01632 960111", date(1971, 3, 9)),
    "ours": ("Lindqvist", "Åsa", "01632 960222", date(1985, 4, 2)),
    "younger": ("Zubair", "Quentin", "01632 960333", date(1990, 12, 24)),
}
AGREED = {"elder": None, "ours": True, "younger": False}
"""To be contacted; None was not asked."""
# Measured differently in each household, so that a figure tells whose it is.
SPHERES = {"elder": -1.25, "ours": -2.25, "younger": -4.5}
FACE_FORMS = {"elder": 3.0, "ours": 4.0, "younger": 6.0}
CATALOGUES = {"elder": "2026-09-01", "ours": "2026-10-01", "younger": "2026-11-01"}


class World:
    """Records by name (``ours.sent``), read anew each time: nothing that one test did to an object stays."""

    def __init__(self) -> None:
        self._known: dict[str, tuple[type[Model], Any]] = {}

    def __setitem__(self, name: str, row: Model) -> None:
        self._known[name] = (type(row), row.pk)

    def __getitem__(self, name: str) -> Any:
        model, pk = self._known[name if "." in name or name in self._known else f"ours.{name}"]
        return model._default_manager.get(pk=pk)

    def name_of(self, row: Model) -> str:
        """By what name a row is known here; its class and key when it has none."""
        key = (type(row), row.pk)
        return next((name for name, known in self._known.items() if known == key), f"{type(row).__name__} {row.pk}")

    def names_of(self, rows: Any) -> list[str]:
        return [self.name_of(row) for row in rows]


def build() -> World:
    world = World()
    shop.practice()
    for name in ("dora", "ravi", "ines"):
        world[name] = person(name)
    world["closed_lab"] = shop.lab(active=False)
    for household in HOUSEHOLDS:
        _household(world, household)
    for name, limit in (("own_rule", "sphere_max_d"), ("other_rule", "cylinder_max_d")):
        decided = {"value": 5.0, "reason": "As agreed", "decided_on": date(2026, 11, 1), "decided_by": world["ines"]}
        rule = PracticeRule(rule="power-step-and-range", kind="tighten", limit=limit, **decided)
        rule.save()
        world[name] = rule
    world["namesake"] = _patient("P-90009", "Lindqvist", "Åsa", "01632 960444", date(1961, 1, 1))
    return world


def _patient(reference: str, family_name: str, given_names: str, phone: str, born_on: date) -> Patient:
    row = Patient(
        reference=reference,
        family_name=family_name,
        given_names=given_names,
        phone=phone,
        born_on=born_on,
        driver=False,
        last_seen_on=timezone.localdate() - timedelta(days=40),
    )
    set_search_words(row)
    row.save()
    keep_name_keys([row])
    return row


def _household(world: World, whose: str) -> None:
    """Each call also saves its rows under ``whose.name``."""

    def keep(name: str, row: Any) -> Any:
        world[f"{whose}.{name}"] = row
        return row

    family, given, phone, born = NAMES[whose]
    worker = keep("worker", person(f"{whose}-worker", first_name=whose.title(), last_name="Worker", role="dispenser"))
    patient = _patient(f"P-9000{HOUSEHOLDS.index(whose) + 1}", family, given, phone, born)
    Patient.objects.filter(pk=patient.pk).update(may_be_contacted=AGREED[whose])
    patient = keep("patient", Patient.objects.get(pk=patient.pk))
    _record(keep, whose, patient, worker)
    keep("wait", Waiting.objects.create(patient=patient, purpose="measure", since=timezone.now(), marked_by=worker))
    _photos(world, keep, whose, worker)
    _lab(keep, whose)
    _orders(world, keep, whose, worker)
    for name in ("patient", "prescription", "frame", "fitting"):
        record(actor=worker, verb=f"{name}.of-{whose}", target=world[f"{whose}.{name}"], patient=patient)
    keep("audit", AuditEvent.objects.order_by("-pk").first())


def _record(keep: Any, whose: str, patient: Patient, worker: StaffUser) -> None:
    today = timezone.localdate()
    sphere = {"sphere": SPHERES[whose]}
    for name, days, use in (
        ("first_prescription", 800, "distance"),
        ("earlier_prescription", 400, "distance"),
        ("prescription", 30, "distance"),
        ("near_prescription", 20, "near"),
    ):
        given = shop.prescription(patient, sphere, sphere, tested_on=today - timedelta(days=days), use=use)
        keep(name, given)
    scan = PrescriptionScan.objects.create(prescription=given, content_type="image/jpeg", file=f"{whose}.jpg")
    keep("scan", scan)
    read = {"name": "right-sphere", "value": SPHERES[whose], "typed": "", "text": "", "unsure": "", "snippet": ""}
    for name, of in (("paper", {"file": f"{whose}-paper.jpg"}), ("read_scan", {"scan": scan})):
        facts = {"content_type": "image/jpeg", "state": "read", "found": [read], **of}
        keep(name, PaperReading.objects.create(patient=patient, **facts))
    for name, days, use in (("old_pair", 900, "distance"), ("worn_pair", 30, "distance"), ("readers", 10, "near")):
        keep(name, shop.worn_pair(patient, sphere, sphere, read_on=today - timedelta(days=days), use=use))
    frame = keep("frame", shop.frame(model="Alder 48", colour=whose, stock_number=f"S-{whose}", in_stock=2))
    keep("withdrawn_frame", shop.frame(model="Alder 48", colour=whose, withdrawn=True))
    own = keep("own_frame", shop.frame(model="Alder 48", colour=whose, owner=patient))
    keep("fitting_in_own", shop.fitting(patient, own, face_form_deg_both=FACE_FORMS[whose] + 0.5))
    keep("fitting", shop.fitting(patient, frame, face_form_deg_both=FACE_FORMS[whose]))
    patient.fittings.update(recorded_by=worker)
    for row in Measurement.objects.filter(fitting__patient=patient):  # with the ± that a service gives it
        taken = FigureTaken(row.quantity, row.eye, tuple(row.readings), row.method)
        Measurement.objects.filter(pk=row.pk).update(**taken.columns())


def _photos(world: World, keep: Any, whose: str, worker: StaffUser) -> None:
    patient, frame = world[f"{whose}.patient"], world[f"{whose}.frame"]
    own = Frame.objects.get(pk=world[f"{whose}.own_frame"].pk)
    for name, of in (("measuring", frame), ("measuring_in_own", own)):
        measuring = keep(name, PhotoMeasuring.objects.create(patient=patient, frame=of, started_by=worker))
        for view, marks in (("front", {"right": {"pupil": [1, 2]}}), ("side", {"cornea": [3, 4]})):
            photo = FittingPhoto(
                measuring=measuring, view=view, width_px=3000, height_px=2000, marks=marks, version=1, marked_by=worker
            )
            photo.file = f"{whose}-{name}-{view}.jpg"
            photo.save()
            keep(f"{view}_of_{name}", photo)
    used = PhotoMeasuring(patient=patient, frame=frame, fitting=world[f"{whose}.fitting"], started_by=worker)
    used.finished_at, used.finished_by = timezone.now(), worker
    used.save()
    keep("used_measuring", used)


def _lab(keep: Any, whose: str) -> None:
    lab = keep("lab", shop.lab(f"Lab of {whose}", email=f"{whose}@lab.invalid"))
    keep("old_catalogue", lab.catalogues.get())
    newer = shop.catalogue_bytes(lab=lab.name, issued_on=CATALOGUES[whose])
    keep("catalogue", import_catalogue(lab=lab, content=newer, actor=None, confirmed=["$.issued_on"]))
    user = keep("lab_user", person(f"{whose}-lab-user", role="lab", last_name=f"Lab of {whose}"))
    LabUser.objects.create(user=user, lab=lab)
    worker = StaffUser.objects.get(username=f"{whose}-worker")
    app = keep("app", AuthenticatorApp.objects.create(user=worker, name="app"))
    keep("row_of_app", app.totpdevice_ptr)
    keep("session", SignedIn.objects.create(user=worker, session_key=f"session-of-{whose}"))
    for name in ("lab_user", "worker"):
        of = user if name == "lab_user" else StaffUser.objects.get(username=f"{whose}-worker")
        token = keep(f"key_of_{name}", AuthToken.objects.create(user=of)[0])
        keep(f"token_of_{name}", TokenDetail.objects.create(token=token, name=f"Till of {whose}"))


def _read(order: Order, by: StaffUser, whose: str) -> FinishedReading:
    """A reading of the pair, as if it had come in already."""
    return FinishedReading.objects.create(
        order=order,
        document=order.documents.get(),
        readings={"format": "finished-readings/1"},
        standard="iso-21987-2017",
        instrument=f"Bench of {whose}",
        verdict={"format": "finished-verdict/1", "verdict": "accept", "items": []},
        result="accept",
        read_at=timezone.now(),
        read_by=by,
    )


def _orders(world: World, keep: Any, whose: str, worker: StaffUser) -> None:
    def drawn_up(name: str) -> Order:
        chosen = {part: world[f"{whose}.{part}"] for part in ("patient", "prescription", "frame", "fitting", "lab")}
        drawn: Order = keep(name, shop.draft(**{"lenses": {"right": shop.LENS, "left": shop.LENS}, **chosen}))
        return drawn

    def send(order: Order) -> Order:
        for part in judge(order).open_findings:  # the same pair again, which is wanted here
            lift(order=order, actor=worker, version=order.version, rule=part.rule, eye=part.eye, reason="Wanted")
        send_order(order=order, actor=worker, version=order.version)
        return Order.objects.get(pk=order.pk)

    keep("sent", send(drawn_up("sent")))
    superseded = send(drawn_up("superseded"))
    keep("revision", send(amend_order(order=superseded, actor=worker)))
    cancel_order(order=send(drawn_up("sent_and_cancelled")), actor=worker, reason="Not wanted")
    cancel_order(order=drawn_up("cancelled"), actor=worker, reason="Not wanted")
    troubled = send(drawn_up("troubled"))
    amended = send(drawn_up("amended"))
    keep("next_revision", amend_order(order=amended, actor=worker))
    drawn_up("draft")
    keep("finished_reading", _read(world[f"{whose}.sent"], worker, whose))
    keep("delivery", Delivery.objects.get(document__order=world[f"{whose}.sent"]))
    failed = Delivery.objects.get(document__order=troubled)
    failed.state, failed.attempts_made = "failed", 9
    failed.save()
    by_hand = Delivery.objects.get(document__order=world[f"{whose}.revision"])
    by_hand.channel = "download"
    by_hand.save()
    keep("download", by_hand)
    keep("failed_delivery", failed)
    late = {"needed_on": timezone.localdate() - timedelta(days=2), "place": "at the lab"}
    Order.objects.filter(pk=troubled.pk).update(**late)
