"""Questions about pairs that have been made: what a patient wore before, and whom to ask how it goes.

This module only reads.
"""

from __future__ import annotations

from datetime import date

from django.db.models import Exists, OuterRef, QuerySet

from dispensing.models import Patient, WornPair
from orders.documents.lens_order import LensOrder, parse_order
from orders.models import HandOver, Order, OrderDocument, OrderEvent
from orders.progress import AFTERCARE, EventKind
from orders.supplying.follow_up import HARD_TO_GET_USED_TO, has_progressives


def handed_over_to(patient: Patient) -> QuerySet[OrderDocument]:
    """The documents of the pairs that this patient was given, newest first, with their orders."""
    given = OrderEvent.objects.filter(order=OuterRef("order"), kind=EventKind.HANDED_OVER)
    rows = OrderDocument.objects.filter(Exists(given), order__patient=patient).select_related("order")
    return rows.defer("pdf", "report").order_by("-frozen_at", "-pk")


def document_of(order: Order) -> LensOrder | None:
    """What was sent, newest revision first; None for a draft."""
    text = order.documents.values_list("text", flat=True).first()
    return parse_order(text) if text else None


def wore_progressives_before(order: Order) -> bool:
    """Whether the patient was given such a pair before this order, or has had one read on the lensmeter."""
    if WornPair.objects.filter(patient=order.patient_id, kind__in=HARD_TO_GET_USED_TO).exists():
        return True
    earlier = handed_over_to(order.patient).exclude(order=order)
    return any(has_progressives(parse_order(document.text)) for document in earlier)


def follow_ups_due(today: date) -> QuerySet[HandOver]:
    """Hand-overs whose wearer should have been asked by now and has not been heard of since, longest overdue first."""
    heard = OrderEvent.objects.filter(
        order=OuterRef("event__order"),
        pk__gt=OuterRef("event"),
        kind__in=[*AFTERCARE, EventKind.NOTE, EventKind.REMADE],
    )
    rows = HandOver.objects.filter(~Exists(heard), follow_up_on__lte=today)
    return rows.select_related("event__order__patient").order_by("follow_up_on", "pk")
