"""Orders: each that was sent has its document, and stands where its events say."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import Exists, OuterRef, Prefetch

from dispensing.doctor.registry import Diagnosis, long_check, ok, wrong
from dispensing.doctor.walk import Walk
from orders.models import Order, OrderDocument, OrderEvent
from orders.progress import place_after

WALK = "order-states"


@long_check(WALK)
def orders_agree_with_their_documents_and_events(walk: Walk) -> Iterator[Diagnosis]:
    events = Prefetch("events", queryset=OrderEvent.objects.only("order_id", "kind").order_by("pk"))
    frozen = Exists(OrderDocument.objects.filter(order=OuterRef("pk")))
    orders = (
        Order.objects.annotate(frozen=frozen).only("number", "revision", "place", "sent_at").prefetch_related(events)
    )
    found = 0
    for batch in walk.over(WALK, orders):
        for order in batch:
            named = f"{order.number} rev. {order.revision}"
            if order.sent_at and not order.frozen:
                found += 1
                yield wrong(f"{named} was sent, and has no document", "Restore it from a backup.")
            if order.place != place_after(event.kind for event in order.events.all()):
                found += 1
                to_do = "Note any event on the order's page; that puts it right."
                yield wrong(f"{named} is not at the place of its last event", to_do)
    if not found:
        yield ok(f"{walk.seen(WALK):,} orders agree with their documents and their events")
