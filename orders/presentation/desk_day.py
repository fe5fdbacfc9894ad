"""The rows of the desk's day as the page, its paper and its file show them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from orders.desk_queries import CALLS_AND_NOTES, UNCOLLECTED_DAYS
from orders.models import OrderEvent
from orders.presentation.board import Tab
from orders.presentation.questions import open_question
from orders.presentation.stays import days_between, days_in_words

if TYPE_CHECKING:
    from orders.desk_queries import WaitingOrder

MOST_SHOWN = 4


@dataclass(frozen=True)
class DeskRow:
    """``mark``: the days of the last mark passed, 0 if none. ``seen``: the key of the last event shown here."""

    order: WaitingOrder
    waits: str
    mark: int
    calls: Sequence[OrderEvent]
    question: OrderEvent | None
    seen: int

    @property
    def phone(self) -> str:
        return self.order.patient.phone

    @property
    def prefers(self) -> str:
        """How the patient is to be reached, in words; that they do not want to be is said instead."""
        patient = self.order.patient
        if patient.may_be_contacted is False:
            return "Does not want to be contacted"
        way = f"Prefers: {patient.get_preferred_contact_display()}" if patient.preferred_contact else ""
        asked = "" if patient.may_be_contacted else "Not asked about being contacted"
        return "; ".join(filter(None, (way, asked)))


def desk_rows(orders: Sequence[WaitingOrder], now: datetime | None = None) -> list[DeskRow]:
    return [_row(order, now or timezone.now()) for order in orders]


def _row(order: WaitingOrder, now: datetime) -> DeskRow:
    events = list(order.events.all())
    days = days_between(order.since, now)
    return DeskRow(
        order=order,
        waits=days_in_words(order.since, now),
        mark=max((mark for mark in UNCOLLECTED_DAYS if days >= mark), default=0),
        calls=[event for event in events if event.kind in CALLS_AND_NOTES][-MOST_SHOWN:],
        question=open_question(order),
        seen=events[-1].pk if events else 0,
    )


def waiting_tabs(counts: dict[int, int], current: int) -> list[Tab]:
    """All that are ready, and those that nobody collected for long."""
    address = reverse("desk-day")
    every = Tab("All", address, current=not current, count=counts[0])
    marked = [
        Tab(f"{days} days or more", f"{address}?{urlencode({'days': days})}", current == days, counts[days])
        for days in UNCOLLECTED_DAYS
    ]
    return [every, *marked]


HEADS = ("Order", "Tray", "Patient", "Reference", "Phone", "Contact", "Where it is", "Since", "Calls and notes")


def desk_table(orders: Iterable[WaitingOrder]) -> Iterator[list[str]]:
    """The rows of the file."""
    now = timezone.now()
    for order in orders:
        row = _row(order, now)
        said = "; ".join(call_in_words(event) for event in row.calls)
        patient = order.patient
        since = timezone.localdate(order.since).isoformat()
        yield [order.number, order.tray, patient.listed_name, patient.reference, row.phone, row.prefers, order.place,
               since, said]  # fmt: skip


def call_in_words(event: OrderEvent) -> str:
    who = f" by {event.actor}" if event.actor else ""
    said = f": {event.note}" if event.note else ""
    return f"{timezone.localtime(event.at):%-d %b, %H:%M} {event.kind}{who}{said}"
