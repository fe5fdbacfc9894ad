"""Draws up an order: starts a draft and saves it, without ever overwriting what another person saved.

Each save increments ``version`` by a conditional update. Saving over an older version raises `ChangedMeanwhile`,
with the order as now saved and what was wanted.
"""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from dispensing.documents import InvalidDocument, of_values
from dispensing.models import Patient, Practice, StaffUser
from dispensing.services.audit import differing, record
from dispensing.services.numbers import next_number
from orders.differences import told_of
from orders.documents.lens_order import FORMAT, LensOrder
from orders.facts import catalogue_of
from orders.models import Catalogue, Lab, Order
from orders.progress import EventKind
from orders.services.draft_findings import note_found
from orders.services.errors import NoDraft, saved_meanwhile
from orders.services.events import record_event
from orders.services.judging import Judgement, judge
from orders.services.remaking import require_remakeable
from orders.states import OrderState

DRAFT_FIELDS = (
    "purpose",
    "remake_of",
    "remake_cause",
    "remake_whose",
    "prescription",
    "frame",
    "fitting",
    "use",
    "power_basis",
    "powers",
    "lab",
    "lenses",
    "kept_lens",
    "registered",
    "other_pair",
    "supply",
    "priority",
    "frame_source",
    "needed_on",
    "remarks",
)

NOT_YET = "-"
"""Stands for an order's number while it is judged for the first time."""


def start_draft(*, patient: Patient, actor: StaffUser, **fields: Any) -> Order:
    """A new draft with the next order number. ``fields``: any of DRAFT_FIELDS; raises `ValidationError`."""
    return start_and_judge(patient=patient, actor=actor, **fields)[0]


@transaction.atomic
def start_and_judge(*, patient: Patient, actor: StaffUser, **fields: Any) -> tuple[Order, Judgement]:
    """Like `start_draft`, but also returns how the draft is judged."""
    order = Order(number=NOT_YET, patient=patient, created_by=actor, saved_by=actor)
    _take_over(order, fields)
    judged = judge(order)
    # From here on everybody else who starts an order waits: the number is taken as late as can be.
    order.number = number = next_number(Order, "number", Practice.current().order_prefix)
    judged = judged.numbered(number)
    order.verdict = judged.report.verdict
    order.save()
    note_found(order, judged.report)
    record_event(order=order, kind=EventKind.CREATED, actor=actor)
    record(actor=actor, verb="order.start", target=order, patient=patient, changes={"number": [None, number]})
    return order, judged


@transaction.atomic
def save_draft(*, order: Order, actor: StaffUser, version: int, fields: dict[str, Any]) -> Judgement:
    """Save ``fields`` (any of DRAFT_FIELDS) over ``version``, the version that the person's page showed.

    Returns how the order is judged now.

    Raises `ChangedMeanwhile`, `NoDraft` if the order is no longer a draft, and `ValidationError`.
    """
    before, catalogue = {name: getattr(order, name) for name in fields}, order.catalogue_id
    _take_over(order, fields)
    names = list(fields) if order.catalogue_id == catalogue else [*fields, "catalogue"]
    judged = write_draft(order, actor=actor, version=version, fields={name: getattr(order, name) for name in names})
    changes = told_of(differing(before, fields), catalogue_of(order))
    if changes:
        record(actor=actor, verb="order.save", target=order, patient=order.patient, changes=changes)
    return judged


def write_draft(
    order: Order, *, actor: StaffUser, version: int, fields: dict[str, Any], judged: Judgement | None = None
) -> Judgement:
    """The conditional update itself, and how the order is then judged. Call it inside a transaction.

    ``judged``: the earlier judgement, if only what is lifted changes; without it, the check is run.
    """
    wanted = {**fields, "version": version + 1, "saved_by": actor, "saved_at": timezone.now()}
    here = Order.objects.filter(pk=order.pk, version=version, state=OrderState.DRAFT)
    if here.update(**wanted) == 0:
        state = Order.objects.values_list("state", flat=True).get(pk=order.pk)
        if state != OrderState.DRAFT:
            raise NoDraft(OrderState(state))
        raise saved_meanwhile(order.pk, fields)
    for name, value in wanted.items():
        setattr(order, name, value)
    judged = judged.with_lifted(order.lifted) if judged else judge(order)
    order.verdict = judged.report.verdict
    Order.objects.filter(pk=order.pk).update(verdict=order.verdict)
    note_found(order, judged.report)
    return judged


def _take_over(order: Order, fields: dict[str, Any]) -> None:
    unknown = set(fields) - set(DRAFT_FIELDS)
    if unknown:
        raise TypeError(f"A draft has no {', '.join(sorted(unknown))}.")
    for name, value in fields.items():
        setattr(order, name, value)
    if "lab" in fields:
        _follow_lab(order)
    _require_own_patient(order)
    if {"frame", "fitting"} & set(fields):
        _require_frame_of_fitting(order)
    if order.remake_of is not None and "remake_of" in fields:
        _require_remakeable(order)
    for name in ("lenses", "kept_lens"):
        if name in fields:
            _require_form(name, fields[name])
    if "powers" in fields:
        _require_form("lenses", {eye: {"power": power} for eye, power in (fields["powers"] or {}).items()})
    # The rows passed in do exist; the database checks again when they are written.
    others = {field.name for field in Order._meta.fields if field.is_relation or field.name not in fields}
    order.clean_fields(exclude=others)


def _follow_lab(order: Order) -> None:
    """Use the catalogue of the chosen lab. Importing a newer one moves the lab's drafts to it automatically."""
    if order.catalogue is None or order.catalogue.lab_id != order.lab_id:
        order.catalogue = catalogue_in_use(order.lab)


def catalogue_in_use(lab: Lab | None) -> Catalogue | None:
    """The lab's newest catalogue, from which new orders are drawn up."""
    return lab.catalogues.filter(in_use=True).first() if lab else None


def _require_own_patient(order: Order) -> None:
    """Another person's prescription, fitting or own frame must never get into an order."""
    wrong = {}
    for name in ("prescription", "fitting"):
        part = getattr(order, name)
        if part is not None and part.patient_id != order.patient_id:
            wrong[name] = f"This {name} belongs to another patient."
    if order.frame is not None and order.frame.owner_id not in (None, order.patient_id):
        wrong["frame"] = "This frame belongs to another patient."
    if wrong:
        raise ValidationError(wrong)


def _require_frame_of_fitting(order: Order) -> None:
    """Heights and distances are valid only for the frame in which they were measured."""
    if order.fitting is not None and order.frame_id != order.fitting.frame_id:
        raise ValidationError({"frame": f"The fitting was taken in another frame, {order.fitting.frame}."})


def _require_remakeable(order: Order) -> None:
    assert order.remake_of is not None
    try:
        require_remakeable(order.remake_of, order)
    except ValidationError as refused:
        raise ValidationError({"remake_of": refused.messages}) from refused


def _require_form(field: str, value: dict[str, Any] | None) -> None:
    """Lenses must have the keys and types of the document; raises `ValidationError` that names the key."""
    try:
        of_values(LensOrder, {"format": FORMAT, field: value})
    except InvalidDocument as error:
        raise ValidationError({field: [str(fault) for fault in error.faults]}) from error
