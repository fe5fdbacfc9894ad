"""What the practice's own paper says of an order: the slip of its tray, the patient's slip, the copy for the folder."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from dispensing.choice_words import label
from dispensing.models import Practice
from orders.documents.key_words import value_in_words
from orders.documents.lens_order import LensOrder, Lifted, parse_order
from orders.documents.names import FRAME_SOURCES, SUPPLIES, lens_names
from orders.facts import catalogue_of
from orders.models import Order, OrderDocument
from orders.models.orders import Priority
from orders.presentation.documents import Headings, lens_rows
from orders.presentation.everything import everything
from orders.printing.content.head import paper_of
from orders.printing.letters import all_printable
from orders.printing.practice_paper import SLIPS, codes_of
from orders.progress import TO_COME, Place
from orders.rules.registry import title_of


@dataclass(frozen=True)
class Kind:
    """One kind of paper: its template and its words. ``has_codes``: a slip, with the number to scan."""

    title: str
    template: str
    content: Callable[[Order, LensOrder, Practice], dict[str, Any]]
    has_codes: bool = True


def paper_context(kind: Kind, order: Order, stored: OrderDocument, practice: Practice) -> dict[str, Any]:
    """Everything on the page, with letters that its fonts have."""
    document = parse_order(stored.text)
    sheet = paper_of(document)
    common = {
        "title": f"{kind.title} {order.number}",
        "number": order.number,
        "revision": order.revision,
        "practice": [line for line in (practice.name, *practice.address.splitlines(), practice.phone) if line.strip()],
        "patient": order.patient.listed_name,
        "reference": order.patient.reference,
        "printed": f"{timezone.localtime():%-d %b %Y, %H:%M}",
        "sheet": sheet,
        "slip": SLIPS[sheet],
    }
    shown: dict[str, Any] = all_printable(common | kind.content(order, document, practice))
    return shown | (codes_of(order.number) if kind.has_codes else {})


def _job_slip(order: Order, document: LensOrder, practice: Practice) -> dict[str, Any]:
    by = order.sent_by or order.created_by
    return {
        "tray": order.tray,
        "urgent": order.priority == Priority.URGENT,
        "remake": str(order.remake_of) if order.remake_of else "",
        "facts": _filled(
            ("Lab", str(order.lab or "")),
            ("Our account", order.lab.account if order.lab else ""),
            ("Lab’s phone", order.lab.phone if order.lab else ""),
            ("Needed", _day(order.needed_on)),
            ("Expected", _expected(order)),
            ("Frame", document.frame.model or ""),
            ("The frame goes", label(FRAME_SOURCES[document.frame.source]) if document.frame.source else ""),
            ("The lab supplies", label(SUPPLIES[document.supply]) if document.supply else ""),
            *((f"{row['heading']} lens", row["text"]) for row in lens_rows(document, Headings.of(practice))),
            ("Dispenser", by.display_name if by else ""),
        ),
    }


def _collection_slip(order: Order, document: LensOrder, practice: Practice) -> dict[str, Any]:
    """No powers and no codes of the trade: it lies about in a coat pocket."""
    lenses = {", ".join(_plain_names(document, eye)) for eye in document.ordered_eyes}
    return {
        "ready": Place(order.place) is Place.READY,
        "expected": _expected(order),
        "facts": _filled(
            ("For", label(value_in_words("use", document.pair_use))),
            ("Frame", document.frame.model or ""),
            ("Lenses", "; ".join(sorted(lenses))),
            ("Ordered", _day(timezone.localdate(order.sent_at) if order.sent_at else None)),
        ),
    }


def _plain_names(document: LensOrder, eye: Any) -> list[str]:
    lens = document.lenses.eye(eye)
    names = lens_names(lens) if lens else None
    return [part for part in (names.design, *names.treatments) if part] if names else []


def _order_copy(order: Order, document: LensOrder, practice: Practice) -> dict[str, Any]:
    stored = order.documents.all()[0]
    headings = Headings.of(practice)
    return {
        "place": order.place,
        "right": headings.right,
        "left": headings.left,
        "sections": [
            {
                "title": part.title,
                "for_eyes": not all(row.for_the_pair for row in part.rows),
                "rows": [{"label": row.label, "cells": row.cells} for row in part.rows],
            }
            for part in everything(document, catalogue_of(order))
        ],
        "answered": [_answer(entry) for entry in document.lifted or ()],
        "sha256": stored.sha256,
        "events": [_event(event) for event in order.events.all()],
    }


def _answer(entry: Lifted) -> str:
    where = f", {entry.eye} eye" if entry.eye in ("right", "left") else ""
    return f"{title_of(entry.rule)}{where}: {entry.reason or 'confirmed'} ({entry.by or 'nobody named'})"


def _event(event: Any) -> dict[str, str]:
    at = f"{timezone.localtime(event.at):%-d %b %Y, %H:%M}"
    return {"at": at, "kind": str(event.kind), "by": str(event.actor or "the program"), "note": event.note}


def _expected(order: Order) -> str:
    """The day the pair should come, while it is still to come."""
    return _day(order.promised_on or order.expected_on) if Place(order.place) in TO_COME else ""


def _filled(*facts: tuple[str, str]) -> list[tuple[str, str]]:
    return [(name, value) for name, value in facts if value]


def _day(day: Any) -> str:
    return f"{day:%-d %b %Y}" if day else ""


PAPER: dict[str, Kind] = {
    "job-slip": Kind("Job slip", "documents/job_slip.html", _job_slip),
    "collection-slip": Kind("Collection slip", "documents/collection_slip.html", _collection_slip),
    "order-copy": Kind("Copy of order", "documents/order_copy.html", _order_copy, has_codes=False),
}
