"""By which way a lab is told something, and putting it into the outbox, in the transaction that it is about."""

from __future__ import annotations

from django.utils import timezone

from orders.delivery_states import DeliveryState
from orders.models import Delivery, Lab, Order, OrderDocument, OrderEvent
from orders.models.deliveries import Channel, Message
from orders.progress import BY_THE_LAB, COME_IN, place_after

# What an order's delivery is while the lab may have the order or may still get it.
MAY_HAVE_ARRIVED = (DeliveryState.SENDING, DeliveryState.SENT, DeliveryState.UNKNOWN)


def ways_of(lab: Lab) -> dict[Channel, str]:
    """Every way that is set up for this lab, with its address."""
    found = {Channel.EMAIL: lab.email, Channel.HTTPS: lab.url, Channel.FOLDER: lab.folder}
    ways = {channel: address for channel, address in found.items() if address}
    return ways | {Channel.API: "", Channel.DOWNLOAD: ""}


def way_of(lab: Lab) -> tuple[Channel, str]:
    """The way that new orders take. A lab without the address that its way needs is served by hand."""
    ways = ways_of(lab)
    chosen = Channel(lab.way)
    return (chosen, ways[chosen]) if chosen in ways else (Channel.DOWNLOAD, "")


def put_in_outbox(
    document: OrderDocument, message: Message = Message.ORDER, *, event: OrderEvent | None = None
) -> Delivery:
    """Queue what the lab is told about a document, by the lab's way as it now is."""
    lab = document.order.lab
    assert lab is not None
    channel, address = way_of(lab)
    return Delivery.objects.create(
        document=document,
        message=message,
        event=event,
        channel=channel,
        address=address,
        next_try_at=timezone.now(),
    )


def tell_of_withdrawal(order: Order, event: OrderEvent) -> Delivery | None:
    """Tell the lab not to make an order that it has, or may have; None if it never left, or if the pair is here.

    ``event``: why.
    """
    document = order.documents.first()
    if document is None or _is_here(order, event) or not _lab_may_have(order):
        return None
    order.to_acknowledge = True
    Order.objects.filter(pk=order.pk).update(to_acknowledge=True)
    return put_in_outbox(document, Message.WITHDRAWAL, event=event)


def tell_answer(order: Order, event: OrderEvent) -> Delivery | None:
    """Pass the practice's answer on to the lab that asked; None if people speak to this lab themselves."""
    document = order.documents.first()
    if document is None or order.lab is None or way_of(order.lab)[0] == Channel.DOWNLOAD:
        return None
    return put_in_outbox(document, Message.ANSWER, event=event)


def _is_here(order: Order, event: OrderEvent) -> bool:
    """Whether the pair had come in before the event: there is nothing left not to make."""
    before = order.events.filter(pk__lt=event.pk).order_by("pk").values_list("kind", flat=True)
    return place_after(before) in COME_IN


def _lab_may_have(order: Order) -> bool:
    sent = Delivery.objects.filter(document__order=order, message=Message.ORDER)
    if sent.filter(state__in=MAY_HAVE_ARRIVED).exists() or sent.filter(unclear=True).exists():
        return True
    return order.events.filter(kind__in=BY_THE_LAB).exists()
