"""What each service writes while two other households stand by: the rows it changes, removes and adds, and no others.

One row per action; a new service adds one. ``changed`` and ``gone`` are names in the world (ours, where no household is
named); ``added`` counts the new rows by class.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from PIL import Image

from dispensing.models import Patient, Practice
from dispensing.origin import Origin
from dispensing.services import (
    audit,
    fittings,
    frames,
    lists_out,
    looks,
    papers,
    patients,
    photo_fittings,
    photo_marks,
    practice,
    practice_rules,
    prescriptions,
    scans,
    second_factors,
    sessions,
    staff,
    tokens,
    waiting,
    worn_pairs,
)
from dispensing.services.fittings import FigureTaken
from orders.documents.finished_pair import FinishedReadings
from orders.models import Delivery, Lab, Order, OrderEvent
from orders.models.deliveries import Channel, Message
from orders.notices.wording import Kind
from orders.progress import EventKind
from orders.sending import by_hand, outbox
from orders.sending.errors import Failure
from orders.services import (
    aftercare,
    amending,
    applying,
    calling,
    cancelling,
    catalogues,
    deciding,
    deliveries,
    drafts,
    events,
    finished_pairs,
    handing_over,
    judging,
    lab_reports,
    lab_secrets,
    lab_users,
    labs,
    lifting,
    notices,
    pairs,
    prices,
    remakes,
    sending,
    transition,
    usual,
)
from orders.services import (
    practice_rules as silencing,
)
from tests.bystanders.world import NAMES, World
from tests.known import there
from tests.orders import shop

PDF = b"%PDF-1.7\n1 0 obj\n%%EOF"


def a_picture() -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", (1600, 1200), "white").save(kept, "JPEG")
    return kept.getvalue()


@dataclass(frozen=True)
class Writing:
    """One act of one service."""

    function: Callable[..., Any]
    act: Callable[[World], Any]
    changed: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    added: dict[str, int] = field(default_factory=lambda: {"AuditEvent": 1})
    says: str = ""

    def __str__(self) -> str:
        return " ".join(filter(None, (self.function.__module__.split(".")[-1], self.function.__name__, self.says)))


def by(service: Callable[..., Any], *, actor: str = "ravi", **kwargs: Any) -> Callable[[World], Any]:
    """Call the service; what is named ``=frame`` is looked up in the world."""

    def looked_up(w: World, value: Any) -> Any:
        return w[value[1:]] if isinstance(value, str) and value.startswith("=") else value

    return lambda w: service(actor=w[actor], **{name: looked_up(w, value) for name, value in kwargs.items()})


def of_version(service: Callable[..., Any], order: str, **kwargs: Any) -> Callable[[World], Any]:
    def act(w: World) -> Any:
        return service(order=w[order], actor=w["ravi"], version=w[order].version, **kwargs)

    return act


def _told(w: World) -> None:
    """The patient agrees, and is told of a delay."""
    order = w["sent"]
    Practice.objects.update(phone="01632 960100")
    Patient.objects.filter(pk=order.patient_id).update(email="ours@x.invalid", notices_by_email=True)
    Order.objects.filter(pk=order.pk).update(promised_on="2026-12-09")
    notices.send_notice(order=order, kind=Kind.DELAYED, channel=Channel.EMAIL, actor=w["dora"])


def _settled(w: World) -> None:
    """What is open of the draft."""
    draft = w["draft"]
    part = judging.judge(draft).open_findings[0]
    lifting.lift(order=draft, actor=w["ravi"], version=draft.version, rule=part.rule, eye=part.eye, reason="Twice")


def _taken_back(w: World) -> None:
    draft = w["next_revision"]
    (entry,) = draft.lifted
    version = draft.version
    lifting.take_back(order=draft, actor=w["ravi"], version=version, rule=entry["rule"], eye=entry["eye"])


def _claim(whose: str, **state: Any) -> Delivery:
    rows = Delivery.objects.filter(pk=whose)
    rows.update(**state)
    return rows.get()


def _accepted(w: World) -> None:
    """The lab has it and says so."""
    Delivery.objects.filter(pk=w["delivery"].pk).update(state="sent")
    events.record_event(order=w["sent"], kind=EventKind.ACCEPTED, actor=w["ravi"])


def _read(w: World) -> None:
    """The pair is here: it is noted as received, and read with a photo of a scratch."""
    Delivery.objects.filter(pk=w["delivery"].pk).update(state="sent")
    finished_pairs.record_reading(
        order=w["sent"],
        actor=w["ravi"],
        readings=FinishedReadings(format="finished-readings/1"),
        inspection={"surface": {"found": "defect", "words": "A scratch"}},
        photos=[("surface", a_picture())],
    )


def _after(*kinds: str, act: Callable[..., Any], **told: Any) -> Callable[[World], Any]:
    """What a service does with the sent order after these events, which count as added too."""

    def act_then(w: World) -> Any:
        for kind in kinds:
            OrderEvent.objects.create(order=w["sent"], kind=kind, at=timezone.now(), actor=w["ravi"])
        return act(order=w["sent"], actor=w["ravi"], **told)

    return act_then


UP_TO_THE_HAND_OVER = ("received", "passed")


def _handed_over(w: World) -> None:
    patient = w["patient"]
    person = {"reference": patient.reference, "born_on": patient.born_on}
    told = {"given_to": "patient", "fit": "good", "patients_copy": "printed"}
    _after(*UP_TO_THE_HAND_OVER, act=handing_over.hand_over, **person, **told)(w)


def _claim_the_next(w: World) -> Delivery | None:
    """Ours is due longest; theirs are due as well, and another of ours is not yet."""
    now = timezone.now()
    Delivery.objects.filter(pk=w["delivery"].pk).update(next_try_at=now - timedelta(days=1))
    return outbox.claim_next(timezone.now())


def _heard(w: World) -> Any:
    Delivery.objects.filter(pk=w["delivery"].pk).update(state="sent")
    return lab_reports.hear(order=w["sent"], actor=w["ravi"], key="evt_1", kind=EventKind.ACCEPTED)


def _fetched(w: World) -> None:
    Delivery.objects.filter(pk__in=[w["delivery"].pk, w["elder.delivery"].pk]).update(channel="api")
    by_hand.note_fetched(w["sent"], w["ravi"], (Message.ORDER,))


def _leased(w: World, state: str = "sending", minutes: int = 5) -> Delivery:
    until = timezone.now() + timedelta(minutes=minutes)
    return _claim(w["delivery"].pk, state=state, leased_until=until, attempts_made=1)


def _expire(w: World) -> None:
    _leased(w, minutes=-1)
    theirs = Delivery.objects.filter(pk__in=[w["elder.delivery"].pk, w["younger.delivery"].pk])
    theirs.update(state="sending", leased_until=timezone.now() + timedelta(minutes=4))
    outbox.expire_leases(timezone.now())


PD = (FigureTaken("pd_mm", "right", (31.0,)), FigureTaken("pd_mm", "left", (31.5,)))
A_FRAME = {"model": "Cedar 50", "a_mm": 50, "b_mm": 38, "dbl_mm": 18}
A_TEST = {"tested_on": "2026-11-01", "prescriber": "B. Prescriber", "use": "near"}
NEW_PATIENT: dict[str, Any] = dict(zip(("family_name", "given_names", "phone", "born_on"), NAMES["elder"], strict=True))
DOCUMENT = {"AuditEvent": 1, "OrderDocument": 1, "OrderEvent": 1, "Delivery": 1}
TRIED = {"DeliveryAttempt": 1}
BY_HAND = {"DeliveryAttempt": 1, "AuditEvent": 1}

HERE = Origin("192.0.2.7")

WRITINGS: tuple[Writing, ...] = (
    # Reading
    Writing(
        looks.note_looks,
        lambda w: looks.note_looks(person=w["ravi"], patients={w["patient"].pk}, origin=HERE),
        added={"AuditEvent": 1, "Look": 1},
    ),
    Writing(
        looks.note_look_at_lists,
        lambda w: looks.note_look_at_lists(person=w["ravi"], origin=HERE),
        added={"AuditEvent": 1, "Look": 1},
    ),
    # The record
    Writing(
        patients.register_patient,
        by(patients.register_patient, although_similar_to=["P-90001", "P-90002"], **NEW_PATIENT),
        added={"AuditEvent": 1, "Patient": 1, "SerialNumber": 1},
    ),
    Writing(
        patients.correct_patient,
        by(patients.correct_patient, patient="=patient", occupation="Weaver"),
        changed=("patient",),
    ),
    Writing(patients.mark_seen, lambda w: patients.mark_seen(w["patient"]), changed=("patient",), added={}),
    Writing(
        frames.add_frame,
        by(frames.add_frame, fields=A_FRAME, owner="=patient"),
        added={"AuditEvent": 1, "Frame": 1},
    ),
    Writing(
        frames.change_frame,
        by(frames.change_frame, frame="=frame", fields={"in_stock": 1}, shape=None, keep_shape=True),
        changed=("frame",),
    ),
    Writing(
        prescriptions.take_in_prescription,
        by(
            prescriptions.take_in_prescription,
            patient="=patient",
            facts=A_TEST,
            eyes={"right": {"sphere": 1}, "left": {"sphere": 2}},
        ),
        changed=("patient",),
        added={"AuditEvent": 1, "Prescription": 1, "PrescribedEye": 2},
    ),
    Writing(
        prescriptions.correct_prescription,
        by(
            prescriptions.correct_prescription,
            prescription="=prescription",
            facts={"prescriber": "Somebody Else"},
            eyes={"right": {"sphere": -3}},
        ),
        changed=("prescription", "PrescribedEye of ours"),
        gone=("PrescribedEye of ours",),
    ),
    Writing(
        waiting.mark_waiting,
        by(waiting.mark_waiting, actor="dora", patient="=namesake", purpose="collect"),
        added={"AuditEvent": 1, "Waiting": 1},
    ),
    Writing(waiting.take_waiting, by(waiting.take_waiting, wait="=wait"), changed=("wait",)),
    Writing(waiting.end_waiting, by(waiting.end_waiting, wait="=wait"), changed=("wait",)),
    Writing(
        worn_pairs.record_worn_pair,
        by(
            worn_pairs.record_worn_pair,
            patient="=patient",
            facts={"read_on": timezone.localdate(), "use": "near"},
            eyes={"right": {"sphere": 1}, "left": {"sphere": 2}},
        ),
        changed=("patient",),
        added={"AuditEvent": 1, "WornPair": 1, "WornEye": 2},
    ),
    Writing(
        worn_pairs.correct_worn_pair,
        by(
            worn_pairs.correct_worn_pair,
            pair="=worn_pair",
            facts={"dislikes": "Heavy"},
            eyes={"right": {"sphere": -3}},
        ),
        changed=("worn_pair", "WornEye of ours"),
        gone=("WornEye of ours",),
    ),
    Writing(
        scans.add_scan,
        by(scans.add_scan, prescription="=prescription", upload=SimpleUploadedFile("a.pdf", PDF)),
        added={"AuditEvent": 1, "PrescriptionScan": 1},
    ),
    Writing(scans.remove_scan, by(scans.remove_scan, scan="=scan"), gone=("scan", "read_scan")),
    Writing(
        papers.add_paper,
        by(papers.add_paper, patient="=patient", upload=SimpleUploadedFile("a.pdf", PDF), month_first=False),
        added={"AuditEvent": 1, "PaperReading": 1},
    ),
    Writing(
        papers.take_in_paper,
        by(papers.take_in_paper, paper="=paper", prescription="=prescription", settled={}),
        changed=("paper", "prescription"),
        added={"AuditEvent": 1, "PrescriptionScan": 1},
    ),
    Writing(
        papers.take_in_from_paper,
        by(
            papers.take_in_from_paper,
            patient="=patient",
            paper="=paper",
            facts=A_TEST,
            eyes={"right": {"sphere": 1}, "left": {"sphere": 2}},
            settled={},
        ),
        changed=("patient", "paper"),
        added={"AuditEvent": 2, "Prescription": 1, "PrescribedEye": 2, "PrescriptionScan": 1},
    ),
    Writing(
        papers.settle_difference,
        by(papers.settle_difference, paper="=read_scan", name="right-add", reason="Twice"),
        changed=("read_scan", "near_prescription"),
    ),
    Writing(papers.discard_paper, by(papers.discard_paper, paper="=paper"), gone=("paper",)),
    # Fittings
    Writing(
        fittings.record_fitting,
        by(
            fittings.record_fitting,
            patient="=patient",
            frame="=frame",
            measured_on=timezone.localdate(),
            figures=PD,
        ),
        changed=("patient",),
        added={"AuditEvent": 1, "Fitting": 1, "Measurement": 2},
    ),
    Writing(
        fittings.change_fitting,
        by(fittings.change_fitting, fitting="=fitting", figures=PD, fields={"notes": "Again"}),
        changed=("fitting", *["Measurement of ours"] * 2),
        gone=("Measurement of ours",) * 7,
    ),
    Writing(
        fittings.copy_to_frame,
        by(fittings.copy_to_frame, fitting="=fitting", frame="=own_frame", copied_on=timezone.localdate()),
        changed=("patient",),
        added={"AuditEvent": 1, "Fitting": 1, "Measurement": 3},
    ),
    # Measuring from photos
    Writing(
        photo_fittings.start_measuring,
        by(photo_fittings.start_measuring, patient="=patient", frame="=frame", near_distance_mm=400),
        added={"AuditEvent": 1, "PhotoMeasuring": 1},
    ),
    Writing(
        photo_fittings.add_photo,
        by(photo_fittings.add_photo, measuring="=measuring", view="front", content=a_picture()),
        added={"AuditEvent": 1, "FittingPhoto": 1},
    ),
    Writing(
        photo_fittings.remove_photo,
        by(photo_fittings.remove_photo, photo="=front_of_measuring"),
        gone=("front_of_measuring",),
    ),
    Writing(
        photo_fittings.delete_picture,
        by(photo_fittings.delete_picture, photo="=front_of_measuring"),
        changed=("front_of_measuring",),
    ),
    Writing(
        photo_fittings.discard_measuring,
        by(photo_fittings.discard_measuring, measuring="=measuring"),
        gone=("measuring", "front_of_measuring", "side_of_measuring"),
    ),
    Writing(
        photo_fittings.use_figures,
        by(photo_fittings.use_figures, measuring="=measuring", figures=PD, measured_on=timezone.localdate()),
        changed=("measuring", "patient"),
        added={"AuditEvent": 2, "Fitting": 1, "Measurement": 2},
    ),
    Writing(
        photo_fittings.use_figures,
        by(
            photo_fittings.use_figures,
            measuring="=measuring",
            figures=PD[:1],
            measured_on=timezone.localdate(),
            into="=fitting",
        ),
        changed=("measuring", "fitting", "Measurement of ours"),
        added={"AuditEvent": 2},
        says="into a fitting",
    ),
    Writing(
        photo_marks.save_marks,
        by(photo_marks.save_marks, photo="=side_of_measuring", marks={"cornea": [5, 6]}, version=1),
        changed=("side_of_measuring",),
    ),
    # Practice and staff
    Writing(
        practice.change_practice,
        by(practice.change_practice, fields={"phone": "01632 960000"}),
        changed=("Practice of nobody",),
    ),
    Writing(
        staff.add_staff,
        by(staff.add_staff, fields={"username": "nina", "first_name": "Nina", "last_name": "New", "role": "dispenser"}),
        added={"AuditEvent": 1, "StaffUser": 1},
    ),
    Writing(
        staff.change_staff,
        by(staff.change_staff, actor="ines", member="=worker", fields={"is_active": False}),
        changed=("worker",),
        gone=("key_of_worker", "session", "token_of_worker"),
        added={"AuditEvent": 2},
    ),
    Writing(
        staff.reset_password,
        by(staff.reset_password, actor="ines", member="=worker"),
        changed=("worker",),
        gone=("key_of_worker", "session", "token_of_worker"),
        added={"AuditEvent": 2},
    ),
    Writing(
        staff.choose_own_password,
        lambda w: staff.choose_own_password(member=w["worker"], password="one of my own"),
        changed=("worker",),
    ),
    Writing(
        tokens.issue_token,
        by(tokens.issue_token, user="=worker"),
        added={"AuditEvent": 1, "AuthToken": 1, "TokenDetail": 1},
    ),
    Writing(
        tokens.revoke_token,
        lambda w: tokens.revoke_token(actor=w["ines"], user=w["worker"], token_id=w["token_of_worker"].public_id),
        gone=("key_of_worker", "token_of_worker"),
    ),
    Writing(
        tokens.revoke_token,
        lambda w: tokens.revoke_token(actor=w["ines"], user=w["worker"], token_id=w["elder.token_of_worker"].public_id),
        added={},
        says="of somebody else",
    ),
    Writing(
        second_factors.new_recovery_codes,
        by(second_factors.new_recovery_codes, actor="ravi"),
        added={"AuditEvent": 1, "StaticDevice": 1, "RecoverySet": 1, "RecoveryCode": 10},
    ),
    Writing(
        second_factors.take_off_second_factor,
        by(second_factors.take_off_second_factor, actor="ines", member="=worker"),
        gone=("app", "row_of_app"),
    ),
    Writing(
        second_factors.remove_factor,
        lambda w: second_factors.remove_factor(actor=w["worker"], passkey_id=None),
        gone=("app", "row_of_app"),
    ),
    Writing(
        second_factors.is_right_code,
        lambda w: second_factors.is_right_code(actor=w["worker"], code="000000"),
        changed=("app", "row_of_app"),
        added={},
        says="which it is not",
    ),
    Writing(
        sessions.note_signed_in,
        lambda w: sessions.note_signed_in(user=w["worker"], session_key="new", browser=""),
        added={"SignedIn": 1},
    ),
    Writing(
        sessions.end_session,
        lambda w: sessions.end_session(actor=w["worker"], session_id=w["session"].public_id),
        gone=("session",),
    ),
    Writing(
        sessions.end_session,
        lambda w: sessions.end_session(actor=w["worker"], session_id=w["elder.session"].public_id),
        added={},
        says="of somebody else",
    ),
    Writing(
        sessions.end_other_sessions,
        lambda w: sessions.end_other_sessions(actor=w["worker"], but="another"),
        gone=("session",),
    ),
    Writing(
        sessions.end_other_sessions,
        lambda w: sessions.end_other_sessions(actor=w["worker"], but="session-of-ours"),
        added={},
        says="but this one",
    ),
    Writing(
        tokens.revoke_all_tokens,
        by(tokens.revoke_all_tokens, user="=worker"),
        gone=("key_of_worker", "token_of_worker"),
    ),
    # Orders
    Writing(
        drafts.start_draft,
        by(drafts.start_draft, patient="=patient", prescription="=prescription"),
        changed=("SerialNumber of nobody",),
        added={"AuditEvent": 1, "Order": 1, "OrderEvent": 1},
    ),
    Writing(
        pairs.start_pairs,
        by(pairs.start_pairs, patient="=patient", prescription="=prescription", uses=("distance", "near")),
        changed=("SerialNumber of nobody",),
        added={"AuditEvent": 2, "Order": 2, "OrderEvent": 2},
    ),
    Writing(
        drafts.save_draft,
        of_version(drafts.save_draft, "draft", fields={"remarks": "Ring first"}),
        changed=("draft",),
    ),
    Writing(
        drafts.save_draft,
        lambda w: drafts.save_draft(
            order=w["draft"], actor=w["ravi"], version=w["draft"].version, fields={"lab": w["younger.lab"]}
        ),
        changed=("draft",),
        says="for another lab",
    ),
    Writing(
        drafts.save_draft,
        lambda w: drafts.save_draft(
            order=w["draft"],
            actor=w["ravi"],
            version=w["draft"].version,
            fields=applying.fields_of_change(w["draft"], {"lenses.right.treatments": []}),
        ),
        changed=("draft",),
        added={"AuditEvent": 1, "DraftFinding": 2},
        says="with a remedy",
    ),
    Writing(lifting.lift, _settled, changed=("draft",)),
    Writing(lifting.take_back, _taken_back, changed=("next_revision",)),
    Writing(
        sending.send_order,
        of_version(sending.send_order, "next_revision"),
        changed=("next_revision", "amended", "Delivery of ours"),
        added=DOCUMENT | {"OrderEvent": 2, "DeliveryAttempt": 1},
        says="a revision",
    ),
    Writing(
        amending.amend_order,
        by(amending.amend_order, order="=sent"),
        added={"AuditEvent": 1, "Order": 1, "OrderEvent": 1, "DraftFinding": 1},
    ),
    Writing(
        cancelling.cancel_order,
        by(cancelling.cancel_order, order="=sent", reason="Not wanted"),
        changed=("sent", "delivery"),
        added={"AuditEvent": 1, "OrderEvent": 1, "DeliveryAttempt": 1},
        says="a sent one",
    ),
    Writing(
        cancelling.cancel_order,
        by(cancelling.cancel_order, order="=draft", reason="Not wanted"),
        changed=("draft",),
        added={"AuditEvent": 1, "OrderEvent": 1},
        says="a draft",
    ),
    Writing(
        events.record_event,
        _accepted,
        changed=("delivery", "sent"),
        added={"OrderEvent": 1, "AuditEvent": 1},
    ),
    Writing(
        finished_pairs.record_reading,
        _read,
        changed=("delivery", "sent"),
        added={"AuditEvent": 1, "OrderEvent": 1, "FinishedReading": 1, "InspectionPhoto": 1},
    ),
    # The finished pair
    Writing(
        deciding.accept,
        _after("received", act=deciding.accept),
        changed=("sent",),
        added={"OrderEvent": 2},
    ),
    Writing(
        deciding.decide,
        _after("received", act=deciding.decide, kind=EventKind.RETURNED, cause="axis", reason="Left axis 8"),
        changed=("sent",),
        added={"AuditEvent": 1, "OrderEvent": 2, "Decision": 1},
        says="to return it",
    ),
    Writing(
        deciding.decide,
        _after("received", act=deciding.decide, kind=EventKind.OUR_MISTAKE, cause="entry", reason="Typed wrongly"),
        changed=("sent", "SerialNumber of nobody"),
        added={"AuditEvent": 2, "OrderEvent": 3, "Decision": 1, "Order": 1, "DraftFinding": 1},
        says="that the order was wrong",
    ),
    Writing(
        handing_over.hand_over,
        _handed_over,
        changed=("sent", "patient"),
        added={"AuditEvent": 1, "OrderEvent": 3, "HandOver": 1},
    ),
    Writing(handing_over.put_in_tray, by(handing_over.put_in_tray, order="=sent", tray="A7"), changed=("sent",)),
    Writing(
        aftercare.note_aftercare,
        _after(*UP_TO_THE_HAND_OVER, "handed over", act=aftercare.note_aftercare, kind=EventKind.ADJUSTED, done="Pads"),
        changed=("sent", "patient"),
        added={"AuditEvent": 1, "OrderEvent": 4, "AftercareNote": 1},
    ),
    Writing(
        remakes.start_remake,
        by(remakes.start_remake, first="=sent", cause="flaw", whose="lab", said="Scratched"),
        changed=("SerialNumber of nobody",),
        added={"AuditEvent": 1, "Order": 1, "OrderEvent": 1, "DraftFinding": 1},
    ),
    Writing(
        notices.send_notice,
        _told,
        changed=("patient", "sent", "Practice of nobody"),
        added={"AuditEvent": 1, "Notice": 1, "Delivery": 1, "NoticeSettings": 1},
    ),
    Writing(
        notices.change_notice_settings,
        by(notices.change_notice_settings, fields={"remind_after": 9}),
        added={"AuditEvent": 1, "NoticeSettings": 1},
    ),
    Writing(
        lab_reports.hear, _heard, changed=("delivery", "sent"), added={"OrderEvent": 1, "LabWord": 1, "AuditEvent": 1}
    ),
    # Labs
    Writing(labs.add_lab, by(labs.add_lab, name="A New Lab"), added={"AuditEvent": 1, "Lab": 1}),
    Writing(labs.change_lab, by(labs.change_lab, lab="=lab", phone="01632 960777"), changed=("lab",)),
    Writing(usual.set_usual, by(usual.set_usual, lab="=lab", usual_supply="edged"), changed=("lab",)),
    Writing(
        lab_users.issue_lab_token,
        by(lab_users.issue_lab_token, lab="=lab"),
        added={"AuditEvent": 1, "AuthToken": 1, "TokenDetail": 1},
    ),
    Writing(
        lab_users.issue_lab_token,
        lambda w: lab_users.issue_lab_token(lab=Lab.objects.get(pk=w["closed_lab"].pk), actor=w["ines"]),
        added={"AuditEvent": 2, "AuthToken": 1, "TokenDetail": 1, "StaffUser": 1, "LabUser": 1},
        says="the first",
    ),
    Writing(
        lab_secrets.make_secret,
        by(lab_secrets.make_secret, lab="=lab"),
        added={"AuditEvent": 1, "LabSecret": 1},
    ),
    Writing(
        lab_users.revoke_lab_token,
        lambda w: lab_users.revoke_lab_token(lab=w["lab"], actor=w["ines"], token_id=w["token_of_lab_user"].public_id),
        gone=("key_of_lab_user", "token_of_lab_user"),
    ),
    Writing(
        lab_users.revoke_lab_token,
        lambda w: lab_users.revoke_lab_token(
            lab=w["lab"], actor=w["ines"], token_id=w["younger.token_of_lab_user"].public_id
        ),
        added={},
        says="of another lab",
    ),
    Writing(
        catalogues.import_catalogue,
        lambda w: catalogues.import_catalogue(
            lab=w["lab"],
            actor=w["ines"],
            content=shop.catalogue_bytes(lab="Lab of ours", issued_on="2026-11-30"),
        ),
        changed=("catalogue", "draft", "next_revision"),
        added={"AuditEvent": 2, "Catalogue": 1},
        says="a new one",
    ),
    Writing(
        catalogues.take_in,
        lambda w: catalogues.take_in(
            lab=w["lab"],
            actor=w["ines"],
            content=shop.catalogue_bytes(lab="Lab of ours", issued_on="2026-11-30"),
        ),
        added={"AuditEvent": 1, "Catalogue": 1},
    ),
    Writing(
        catalogues.use_catalogue,
        lambda w: catalogues.use_catalogue(catalogue=w["old_catalogue"], actor=w["ines"], beside=w["catalogue"]),
        changed=("catalogue", "old_catalogue", "draft", "next_revision"),
    ),
    Writing(
        catalogues.import_catalogue,
        lambda w: catalogues.import_catalogue(lab=w["lab"], actor=w["ines"], content=w["old_catalogue"].text.encode()),
        changed=("catalogue", "old_catalogue", "draft", "next_revision"),
        says="an old one again",
    ),
    # Calls, from the page of the desk's day
    Writing(
        calling.note_call,
        lambda w: calling.note_call(
            order=w["sent"],
            actor=w["dora"],
            kind=EventKind.NOTE,
            seen=there(w["sent"].events.last()).pk,
            note="Passed on",
        ),
        changed=("sent",),
        added={"OrderEvent": 1},
    ),
    # Lists that leave as files
    Writing(
        lists_out.note_list_out,
        by(lists_out.note_list_out, actor="ines", name="audit", patient="=patient"),
    ),
    # The practice's own prices
    Writing(
        prices.take_in_prices,
        lambda w: prices.take_in_prices(actor=w["ines"], content=b"amount,currency\n9,EUR\n"),
        added={"AuditEvent": 1, "PriceList": 1},
    ),
    Writing(
        prices.use_prices,
        lambda w: prices.use_prices(
            actor=w["ines"], prices=prices.take_in_prices(actor=w["ines"], content=b"amount,currency\n9,EUR\n")
        ),
        added={"AuditEvent": 2, "PriceList": 1},
    ),
    Writing(prices.stop_using_prices, lambda w: prices.stop_using_prices(actor=w["ines"]), added={}),
    # The practice's own rules
    Writing(
        silencing.tighten_tolerance,
        by(
            silencing.tighten_tolerance,
            standard="iso-21987-2017",
            limit="add_to_4_d",
            value=0.1,
            reason="Readers notice",
        ),
        added={"AuditEvent": 1, "PracticeRule": 1},
    ),
    Writing(
        silencing.silence,
        by(silencing.silence, rule="duplicate-order", reason="Twice is usual here"),
        added={"AuditEvent": 1, "PracticeRule": 1},
    ),
    Writing(
        practice_rules.tighten,
        by(practice_rules.tighten, rule="power-step-and-range", limit="sphere_max_d", value=4.5, reason="As agreed"),
        changed=("own_rule",),
    ),
    Writing(
        practice_rules.restore,
        by(practice_rules.restore, rule="power-step-and-range", limit="sphere_max_d"),
        gone=("own_rule",),
    ),
    # The outbox
    Writing(
        outbox.claim_next,
        _claim_the_next,
        changed=("delivery",),
        added=TRIED,
    ),
    Writing(
        outbox.record_sent,
        lambda w: outbox.record_sent(_leased(w), "250 taken", timezone.now()),
        changed=("delivery",),
        added=TRIED,
    ),
    Writing(
        outbox.record_failure,
        lambda w: outbox.record_failure(_leased(w), "gone", Failure.TEMPORARY, timezone.now()),
        changed=("delivery",),
        added=TRIED,
    ),
    Writing(
        outbox.expire_leases,
        _expire,
        changed=("elder.delivery", "delivery", "younger.delivery"),
        added=TRIED,
    ),
    Writing(
        by_hand.retry_delivery,
        by(by_hand.retry_delivery, delivery="=failed_delivery"),
        changed=("failed_delivery",),
        added=BY_HAND,
    ),
    Writing(
        by_hand.reroute_delivery,
        by(by_hand.reroute_delivery, delivery="=failed_delivery", channel="download"),
        changed=("failed_delivery",),
        added={**BY_HAND, "Delivery": 1},
    ),
    Writing(by_hand.note_fetched, _fetched, changed=("elder.delivery", "delivery"), added=BY_HAND),
    Writing(
        by_hand.note_download,
        by(by_hand.note_download, delivery="=download"),
        changed=("download",),
        added=BY_HAND,
    ),
    Writing(
        by_hand.withhold_delivery,
        by(by_hand.withhold_delivery, delivery="=delivery"),
        changed=("delivery",),
        added=BY_HAND,
    ),
    Writing(
        by_hand.told_otherwise,
        by(by_hand.told_otherwise, delivery="=failed_delivery"),
        changed=("failed_delivery",),
        added=BY_HAND,
    ),
    Writing(
        by_hand.settle_delivery,
        by(by_hand.settle_delivery, delivery="=failed_delivery"),
        changed=("failed_delivery",),
        added=BY_HAND,
    ),
)

NOT_TRIED: dict[Callable[..., Any], str] = {
    second_factors.confirm_app: "needs a telephone; tried with somebody else beside among the second factors",
    second_factors.note_passkey: "needs a passkey, which the browser of the second factors makes",
    audit.record: "every other row counts its entries",
    drafts.start_and_judge: "starting a draft goes through it",
    deliveries.move_delivery: "the outbox, and people by hand, go through it",
    deliveries.add_row: "the outbox, and people by hand, go through it",
    deliveries.call_off: "sending a revision and cancelling go through it",
    drafts.write_draft: "saving, lifting and taking back go through it",
    deciding.note_event: "accepting and recording an event go through it",
    remakes.count_as_made_again: "sending a remake goes through it",
    practice_rules.leave_out: "silencing a rule goes through it",
    transition.move: "sending and cancelling go through it",
}
"""Services with an actor that write nothing of their own, each with the reason."""
