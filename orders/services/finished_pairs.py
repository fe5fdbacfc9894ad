"""Stores readings of a finished pair with their verdict, and says how the pair then stands.

A reading is only ever added. Where the practice wants a second reader, the pair stands as the worse of both readings,
and waits until the second one is there. What is decided about the pair is not decided here.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from dispensing.decoding.pictures import clean_picture
from dispensing.fitting.photos import PhotoRefused
from dispensing.models import Practice, StaffUser
from dispensing.queries.protection import why_protected
from dispensing.services.audit import record
from dispensing.services.files import keep
from orders.documents.finished_pair import FinishedReadings, FinishedVerdict
from orders.documents.lens_order import parse_order
from orders.facts import catalogue_of
from orders.models import FinishedReading, InspectionPhoto, Order, OrderDocument
from orders.models.finished_pairs import Result
from orders.progress import EventKind, Place, may_follow
from orders.queries import finished_readings, tolerances_in_force
from orders.services.events import record_event
from orders.verification import verify
from orders.verification.command import plain
from orders.verification.inspection import BY_KEY, Inspection, defects
from orders.verification.second_reader import why_second_reader

LONGEST_SIDE_PX = 2000
"""A scratch photographed close up stays visible."""
WORST_FIRST = (Result.RETURN, Result.MEASURE_AGAIN, Result.ACCEPT)
NOT_HERE = frozenset({Place.DRAFT, Place.CANCELLED, Place.SUPERSEDED})


@dataclass(frozen=True)
class Standing:
    """How a finished pair stands. rows: every reading, newest first; reading: the newest that is no second reading, or
    None before the first; second: the newest second reading of it; second_reader_because: why one is wanted, in words.
    """

    reading: FinishedReading | None = None
    second: FinishedReading | None = None
    second_reader_because: tuple[str, ...] = ()
    rows: tuple[FinishedReading, ...] = ()

    @property
    def waits_for_second_reader(self) -> bool:
        return self.reading is not None and bool(self.second_reader_because) and self.second is None

    def first_of_somebody_else(self, reader: StaffUser) -> FinishedReading | None:
        """The first reading, if a second reader is awaited and this one can be it."""
        first = self.reading
        return first if self.waits_for_second_reader and first is not None and first.read_by_id != reader.pk else None

    @property
    def result(self) -> str:
        """The worse of both readings (a :class:`Result`); empty before the first."""
        results = {row.result for row in (self.reading, self.second) if row is not None}
        return next((str(result) for result in WORST_FIRST if result in results), "")

    @property
    def has_defects(self) -> bool:
        return any(row.has_defects for row in (self.reading, self.second) if row is not None)


def standing(order: Order) -> Standing:
    """How the finished pair of this order stands by its readings so far."""
    rows = list(finished_readings(order))
    first = next((row for row in rows if row.second_of_id is None), None)
    if first is None:
        return Standing()
    second = next((row for row in rows if row.second_of_id == first.pk), None)
    return Standing(first, second, _why_second(order, first), tuple(rows))


def sent_document(order: Order) -> OrderDocument:
    """The frozen document that the pair is held against. Raises `ValidationError` if the pair cannot be here."""
    document = OrderDocument.objects.defer("pdf").filter(order=order).first()
    if document is None or Place(order.place) in NOT_HERE:
        raise ValidationError(f"Order {order.number} is “{order.place}”: there is no finished pair to read.")
    return document


def judge_finished(
    order: Order, document: OrderDocument, readings: FinishedReadings, standard: str = ""
) -> FinishedVerdict:
    """The verdict by the practice's standard, or another one, with the practice's own stricter limits."""
    return verify(parse_order(document.text), readings, tolerances_in_force(standard), catalogue_of(order))


def record_reading(
    *,
    order: Order,
    actor: StaffUser,
    readings: FinishedReadings,
    inspection: Inspection | None = None,
    note: str = "",
    second_of: FinishedReading | None = None,
    photos: Sequence[tuple[str, bytes]] = (),
    at: datetime | None = None,
) -> FinishedReading:
    """Store a reading with its verdict; a pair not yet noted as received is so noted.

    photos: (point of the inspection, picture). Raises `ValidationError` for an order that has no pair here, an
    inspection of unknown points, a second reading by the first reader, or a file that is no picture; `CannotHappen` if
    the pair cannot have come in yet.
    """
    pictures = [(point, _cleaned(point, content)) for point, content in photos]  # may wait for a turn, so outside
    with transaction.atomic():
        document = sent_document(order)
        seen = _checked(inspection or {})
        _require_another_reader(order, second_of, actor)
        verdict = judge_finished(order, document, readings)
        if EventKind.RECEIVED in may_follow(Place(order.place)):
            record_event(order=order, kind=EventKind.RECEIVED, actor=actor, at=at)
        row = FinishedReading.objects.create(
            order=order,
            document=document,
            readings=readings.model_dump(mode="json", exclude_none=True),
            standard=(verdict.extra or {})["standard"]["id"],
            verdict=plain(verdict),
            result=verdict.verdict,
            inspection=seen,
            has_defects=bool(defects(seen)),
            instrument=(readings.instrument or "")[:80],
            note=note[:500],
            second_of=second_of,
            read_at=at or timezone.now(),
            read_by=actor,
        )
        for point, picture in pictures:
            _add_photo(row, actor, point, picture)
        record(actor=actor, verb="finished.read", target=row, patient=order.patient)
        return row


def _why_second(order: Order, row: FinishedReading) -> tuple[str, ...]:
    chosen = Practice.current().second_reader_for
    if not chosen:
        return ()
    return why_second_reader(
        parse_order(row.document.text),
        FinishedVerdict.model_validate_json(_json(row.verdict)),
        chosen,
        protected=why_protected(order.patient, timezone.localdate(row.read_at)),
        readings=FinishedReadings.model_validate_json(_json(row.readings)),
        catalogue=catalogue_of(order),
    )


def _require_another_reader(order: Order, second_of: FinishedReading | None, actor: StaffUser) -> None:
    if second_of is None:
        return
    if second_of.order_id != order.pk or second_of.second_of_id is not None:
        raise ValidationError("This is no first reading of this order.")
    if second_of.read_by_id == actor.pk:
        raise ValidationError(f"{actor.display_name} read this pair already; the second reader is somebody else.")


def _checked(inspection: Inspection) -> dict[str, Mapping[str, Any]]:
    """The inspection as it is stored. Raises `ValidationError` for a point or a finding that is not known."""
    for key, row in inspection.items():
        if key not in BY_KEY:
            raise ValidationError(f"“{key}” is no point of the inspection.")
        if row.get("found") not in ("fine", "defect"):
            raise ValidationError(f"{BY_KEY[key].title}: say whether it is fine or a defect.")
    return dict(inspection)


def _cleaned(point: str, content: bytes) -> bytes:
    if point not in BY_KEY:
        raise ValidationError(f"“{point}” is no point of the inspection.")
    try:
        return clean_picture(content, LONGEST_SIDE_PX)
    except PhotoRefused as refused:
        raise ValidationError(str(refused)) from refused


def _add_photo(row: FinishedReading, actor: StaffUser, point: str, picture: bytes) -> InspectionPhoto:
    photo = InspectionPhoto(reading=row, point=point, added_by=actor)
    photo.sha256 = keep(photo.file, picture, "jpg")
    photo.save()
    return photo


def _json(values: dict[str, Any]) -> str:
    return json.dumps(values)
