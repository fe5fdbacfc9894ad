"""Notices to patients: who may be told what, by which way, and putting it into the outbox.

Nobody is told anything without having agreed to that way, and what holds when a notice is asked for is looked at once
more when it leaves: consent can be withdrawn, and a pair collected, while it waits for the morning.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import islice
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from dispensing.models import Patient, Practice, StaffUser
from dispensing.services.audit import differing, in_words, record
from dispensing.services.meanwhile import require_version, save_next_version
from dispensing.telephones import NumberRefused, mobile_number
from orders.models import Delivery, Notice, NoticeSettings, Order, OrderEvent
from orders.models.deliveries import Channel, Message
from orders.notices.wording import KINDS, CannotFill, Kind, filled, text_parts
from orders.progress import OWED_BY_THE_LAB, CannotHappen, EventKind, Place
from orders.services.events import record_event

WAYS = {Channel.EMAIL: "e-mail", Channel.SMS: "text message"}
PLACES: dict[Kind, tuple[Place, ...]] = {
    Kind.READY: (Place.TO_TELL, Place.READY),
    Kind.DELAYED: (*OWED_BY_THE_LAB, Place.ON_THE_WAY),
    Kind.REMINDER: (Place.READY,),
}
AT_ONCE = 100


class NoticeRefused(ValueError):
    """Nothing is sent; the message says why, in words."""


@dataclass(frozen=True, slots=True)
class Drafted:
    """A notice as it would leave. ``parts``: as how many messages a text counts; ``leaves_at``: not before."""

    kind: Kind
    channel: Channel
    address: str
    subject: str
    text: str
    leaves_at: datetime

    @property
    def parts(self) -> int:
        return text_parts(self.text)


def kinds_for(order: Order) -> list[Kind]:
    """What the patient can be told about the order as it stands."""
    return [kind for kind in Kind if Place(order.place) in PLACES[kind]]


def drafted(order: Order, kind: Kind, channel: Channel, now: datetime | None = None) -> Drafted:
    """The notice as it would leave now; raises `NoticeRefused`."""
    require_wanted(order, kind, channel)
    rules, values = NoticeSettings.current(), _values(order)
    try:
        subject = filled(rules.wording(kind, "subject"), values) if channel == Channel.EMAIL else ""
        text = filled(rules.wording(kind, "mail" if channel == Channel.EMAIL else "text"), values)
    except CannotFill as missing:
        raise NoticeRefused(str(missing)) from missing
    leaves_at = rules.quiet.over(timezone.localtime(now))
    return Drafted(kind, channel, address_of(order.patient, channel), subject, text, leaves_at)


def require_wanted(order: Order, kind: Kind, channel: Channel) -> None:
    """Raise `NoticeRefused` unless the order stands where such a notice is true, and the patient agrees to this way."""
    if kind not in kinds_for(order):
        raise NoticeRefused(f"The order is at “{order.place}”: “{KINDS[kind]}” would not be true.")
    address_of(order.patient, channel)


def address_of(patient: Patient, channel: Channel) -> str:
    """Where the patient agreed to be told; raises `NoticeRefused`."""
    agreed = {Channel.EMAIL: patient.notices_by_email, Channel.SMS: patient.notices_by_text}
    if patient.may_be_contacted is False:
        raise NoticeRefused("The patient does not want to be contacted about orders.")
    if not agreed.get(channel):
        raise NoticeRefused(f"The patient has not agreed to be told by {WAYS.get(channel, channel)}.")
    if channel == Channel.EMAIL:
        if not patient.email:
            raise NoticeRefused("There is no e-mail address on record.")
        return patient.email
    if not settings.SMS_GATEWAY_URL:
        raise NoticeRefused("No gateway for text messages is set up here (SMS_GATEWAY_URL).")
    try:
        return mobile_number(patient.phone, Practice.current().country)
    except NumberRefused as refused:
        raise NoticeRefused(str(refused)) from refused


def _values(order: Order) -> dict[str, str]:
    practice, patient = Practice.current(), order.patient
    day = order.promised_on
    return {
        "given_name": patient.given_names,
        "full_name": patient.full_name,
        "practice": practice.name,
        "practice_phone": practice.phone,
        "order": order.number,
        "new_day": f"{day.day} {day:%B %Y}" if day else "",
    }


@transaction.atomic
def send_notice(
    *, order: Order, kind: Kind, channel: Channel, actor: StaffUser | None, key: uuid.UUID | None = None
) -> Notice:
    """Put the notice into the outbox. The same ``key`` twice is one notice. Raises `NoticeRefused`.

    ``actor``: None where the practice has such notices sent by themselves.
    """
    order = Order.objects.select_for_update(of=("self",)).select_related("patient").get(pk=order.pk)
    if key is not None and (known := Notice.objects.filter(key=key).first()) is not None:
        return known
    document = order.documents.first()
    if document is None:
        raise NoticeRefused("This order never left; there is nothing to tell.")
    notice = drafted(order, kind, channel)
    delivery = Delivery.objects.create(
        document=document,
        message=Message.NOTICE,
        channel=channel,
        address=notice.address,
        next_try_at=notice.leaves_at,
    )
    row = Notice.objects.create(
        key=key or uuid.uuid4(),
        delivery=delivery,
        patient=order.patient,
        kind=kind,
        subject=notice.subject,
        text=notice.text,
        asked_by=actor,
    )
    said = {"kind": [None, KINDS[kind]], "by": [None, WAYS[channel]], "to": [None, notice.address]}
    record(actor=actor, verb="notice.send", target=order, patient=order.patient, changes=said)
    return row


def note_told(delivery: Delivery) -> None:
    """Record on the order that the patient was told. Call it in the transaction that records that the notice left."""
    notice = Notice.objects.select_related("delivery__document__order", "asked_by").get(delivery=delivery)
    order, kind = notice.delivery.document.order, Kind(notice.kind)
    said = f"{KINDS[kind]}: told by {WAYS[Channel(delivery.channel)]}"
    event = EventKind.NOTE if kind is Kind.DELAYED else EventKind.PATIENT_TOLD
    try:
        with transaction.atomic():
            record_event(order=order, kind=event, actor=notice.asked_by, note=said)
    except CannotHappen:
        # It has left; that the pair moved on meanwhile does not undo it.
        record_event(order=order, kind=EventKind.NOTE, actor=notice.asked_by, note=said)


def send_automatic(now: datetime | None = None) -> int:
    """Put into the outbox what the practice has sent without a press; returns how many. Nobody is told the same twice:
    each occasion is one event of the order, which is the notice's key. At quiet hours they wait in the outbox.
    """
    now = now or timezone.now()
    rules = NoticeSettings.objects.filter(pk=1).first()
    kinds = [Kind(kind) for kind in rules.automatic] if rules else []
    if rules is None or not kinds:
        return 0
    sent = (_send_of_itself(event, kind) for kind in kinds for event in _occasions(kind, now, rules))
    return sum(1 for _ in islice(filter(None, sent), AT_ONCE))


# What happened, when a kind of notice is due; a reminder is due so many days after the last word.
_OCCASION = {
    Kind.READY: (EventKind.PASSED, EventKind.CONCEDED),
    Kind.DELAYED: (EventKind.DELAYED,),
    Kind.REMINDER: (EventKind.PATIENT_TOLD,),
}
_STILL = {Kind.READY: (Place.TO_TELL,), Kind.DELAYED: PLACES[Kind.DELAYED], Kind.REMINDER: (Place.READY,)}
# What happened longer ago is no news; so switching a kind on does not reach back into the past.
NEWS = timedelta(days=7)


def _occasions(kind: Kind, now: datetime, rules: NoticeSettings) -> Iterable[OrderEvent]:
    """The newest such event of each order that stands where the notice is true, of patients who agreed to a way.

    Those who did not would else be asked about in every round, and be in the way of those who did.
    """
    until = now - timedelta(days=rules.remind_after) if kind is Kind.REMINDER else now
    events = (
        OrderEvent.objects.filter(
            kind__in=[str(kind) for kind in _OCCASION[kind]],
            at__gt=until - NEWS,
            at__lte=until,
            order__place__in=[str(place) for place in _STILL[kind]],
        )
        .exclude(order__patient__may_be_contacted=False)
        .filter(Q(order__patient__notices_by_email=True) | Q(order__patient__notices_by_text=True))
    )
    newest: dict[int, OrderEvent] = {
        event.order_id: event for event in events.select_related("order__patient").order_by("pk")
    }
    by_key = {_key(event, kind): event for event in newest.values()}
    told = set(Notice.objects.filter(key__in=list(by_key)).values_list("key", flat=True))
    return [event for key, event in by_key.items() if key not in told]


def _key(event: OrderEvent, kind: Kind) -> uuid.UUID:
    """Of the occasion; an order has one reminder, for being told is an event itself."""
    return uuid.uuid5(event.order.public_id, kind if kind is Kind.REMINDER else f"{kind} {event.pk}")


def _send_of_itself(event: OrderEvent, kind: Kind) -> bool:
    """By the first way that the patient agreed to, e-mail before text."""
    for channel in WAYS:
        try:
            send_notice(order=event.order, kind=kind, channel=channel, actor=None, key=_key(event, kind))
        except NoticeRefused:
            continue
        return True
    return False


def is_quiet(now: datetime) -> bool:
    """Whether patients are left in peace now."""
    rules = NoticeSettings.objects.filter(pk=1).first() or NoticeSettings()
    return rules.quiet.holds(timezone.localtime(now))


@transaction.atomic
def change_notice_settings(*, actor: StaffUser, fields: dict[str, Any], version: int | None = None) -> NoticeSettings:
    """Write only what differs. ``version``: the one the change is based on. Raises `ChangedMeanwhile`."""
    row = NoticeSettings.objects.select_for_update().get(pk=NoticeSettings.current().pk)
    changes = differing({name: getattr(row, name) for name in fields}, fields)
    require_version(row, version, changes)
    if not changes:
        return row
    for name in changes:
        setattr(row, name, fields[name])
    row.full_clean()
    save_next_version(row, changes)
    record(actor=actor, verb="notices.change", target=row, changes=in_words(changes))
    return row
