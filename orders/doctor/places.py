"""Orders: each that was sent has its document, and stands where its events say."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import Exists, OuterRef, Prefetch

from dispensing.doctor.registry import Diagnosis, long_check, ok, wrong
from dispensing.doctor.walk import Walk
from orders.models import Delivery, Order, OrderDocument, OrderEvent
from orders.models.deliveries import Message
from orders.progress import EventKind, place_after

WALK = "order-states"


@long_check(WALK)
def orders_agree_with_their_documents_and_events(walk: Walk) -> Iterator[Diagnosis]:
    events = Prefetch("events", queryset=OrderEvent.objects.only("order_id", "kind").order_by("pk"))
    frozen = Exists(OrderDocument.objects.filter(order=OuterRef("pk")))
    called_off = Exists(Delivery.objects.filter(document__order=OuterRef("pk"), message=Message.WITHDRAWAL))
    orders = (
        Order.objects.annotate(frozen=frozen, called_off=called_off)
        .only("number", "revision", "place", "sent_at", "to_acknowledge")
        .prefetch_related(events)
    )
    found = 0
    for batch in walk.over(WALK, orders):
        for order in batch:
            named = f"{order.number} rev. {order.revision}"
            if order.sent_at and not order.frozen:
                found += 1
                yield wrong(f"{named} was sent, and has no document", "Restore it from a backup.")
            kinds = [event.kind for event in order.events.all()]
            if order.place != place_after(kinds):
                found += 1
                to_do = "Note any event on the order's page; that puts it right."
                yield wrong(f"{named} is not at the place of its last event", to_do)
            if order.to_acknowledge != (order.called_off and EventKind.ACKNOWLEDGED not in kinds):
                found += 1
                to_do = "Ask the lab whether it knows that the order is withdrawn."
                yield wrong(f"{named} is wrongly marked as to whether the lab acknowledged its withdrawal", to_do)
    if not found:
        yield ok(f"{walk.seen(WALK):,} orders agree with their documents and their events")
