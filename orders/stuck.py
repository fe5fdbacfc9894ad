"""What is stuck between the practice and its labs, read for pages and the doctor without anybody asking.

Orders that have not left or may not have arrived, days that a lab promised and did not keep, withdrawals that it has
not acknowledged, and a sender that is not running. This module only reads.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Min, Q, QuerySet
from django.utils import timezone

from orders.delivery_states import OPEN, UNSETTLED, WAITS_TOO_LONG, DeliveryState
from orders.models import Delivery, Lab, Order
from orders.models.deliveries import Channel, Message
from orders.progress import OWED_BY_THE_LAB
from orders.sending.channels import SENDERS
from orders.sending.heartbeat import is_alive, last_seen
from orders.states import OrderState


@dataclass(frozen=True)
class Stuck:
    """Counts of deliveries and orders. ``oldest``: since when the one has waited that has waited longest.

    ``sender_missing``: a lab is sent to by the program, and no sender is running; ``sender_seen``: when one last was.
    """

    waiting: int
    retrying: int
    too_long: int
    oldest: datetime | None
    unknown: int
    failed: int
    promises_past: int
    unacknowledged: int
    sender_missing: bool
    sender_seen: datetime | None


def stuck(now: datetime | None = None) -> Stuck:
    """The whole of it, in four questions to the database."""
    now = now or timezone.now()
    waits = Q(state__in=OPEN)
    unsettled = Delivery.objects.order_by().filter(state__in=UNSETTLED).exclude(message=Message.NOTICE)
    found = unsettled.aggregate(
        waiting=Count("pk", filter=Q(state=DeliveryState.QUEUED)),
        retrying=Count("pk", filter=Q(state=DeliveryState.RETRY_LATER)),
        too_long=Count("pk", filter=waits & Q(queued_at__lte=now - WAITS_TOO_LONG)),
        oldest=Min("queued_at", filter=waits),
        unknown=Count("pk", filter=Q(state=DeliveryState.UNKNOWN) & of_an_order_that_matters()),
        failed=Count("pk", filter=Q(state=DeliveryState.FAILED) & of_an_order_that_matters()),
        for_the_sender=Count("pk", filter=waits & Q(channel__in=list(SENDERS))),
    )
    needed = bool(found.pop("for_the_sender")) or _is_sent_to()
    seen = last_seen()
    return Stuck(
        **found,
        promises_past=Order.objects.filter(promise_past(now)).count(),
        unacknowledged=unacknowledged().count(),
        sender_missing=needed and not is_alive(seen, now),
        sender_seen=seen,
    )


def of_an_order_that_matters() -> Q:
    """Deliveries to labs whose fate still matters: of an order in force, or telling the lab that it no longer is."""
    return Q(document__order__state=OrderState.SENT) & ~Q(message=Message.NOTICE) | Q(message=Message.WITHDRAWAL)


def promise_past(now: datetime) -> Q:
    """Orders whose lab promised a day that is past, while it still owes the pair."""
    today = timezone.localdate(now)
    return Q(promised_on__lt=today, place__in=[str(place) for place in OWED_BY_THE_LAB])


def unacknowledged() -> QuerySet[Order]:
    """Withdrawn orders that the lab may be making all the same: it was told, and has not said that it knows."""
    return Order.objects.filter(to_acknowledge=True)


def _is_sent_to() -> bool:
    """Whether the program itself sends to any lab in use, or has something for a patient."""
    by_mail = Q(way=Channel.EMAIL) & ~Q(email="")
    others = Q(way__in=[channel for channel in SENDERS if channel != Channel.EMAIL])
    waits = Delivery.objects.filter(state__in=OPEN, message=Message.NOTICE)
    return Lab.objects.filter(by_mail | others, active=True).exists() or waits.exists()
