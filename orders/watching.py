"""What orders add for those who watch the server: is a sender running, and how long orders wait for it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db.models import Count, Q
from django.utils import timezone
from prometheus_client.core import GaugeMetricFamily

from dispensing.watching.measured import measured_gauges
from dispensing.watching.ready import ready_check
from orders.delivery_states import OPEN, UNSETTLED
from orders.models import Delivery
from orders.sending.channels import SENDERS
from orders.sending.heartbeat import is_alive, last_seen

# Each order counts once, under the first of these that its waiting is shorter than.
AGES = {"5m": timedelta(minutes=5), "1h": timedelta(hours=1), "1d": timedelta(days=1)}
LONGER = "longer"


@ready_check("sender", needed=False)
def a_sender_runs() -> str:
    return "" if is_alive(last_seen(), timezone.now()) else "silent"


@measured_gauges
def the_outbox() -> Iterator[GaugeMetricFamily]:
    now = timezone.now()
    waiting = GaugeMetricFamily(
        "datumline_orders_waiting", "Messages to labs that wait to be sent, by how long.", labels=["age"]
    )
    for age, number in _by_age(now).items():
        waiting.add_metric([age], number)
    yield waiting
    states = GaugeMetricFamily("datumline_deliveries", "Messages to labs that have not ended well.", labels=["state"])
    unsettled = Delivery.objects.order_by().filter(state__in=UNSETTLED)
    for state, number in unsettled.values_list("state").annotate(Count("pk")):
        states.add_metric([state], number)
    yield states
    seen = last_seen()
    beat = GaugeMetricFamily("datumline_sender_silent_seconds", "Since when no sender has said that it runs.")
    if seen is not None:
        beat.add_metric([], (now - seen).total_seconds())
    yield beat


def _by_age(now: datetime) -> dict[str, int]:
    counts, since = {}, now + timedelta(days=365)
    for age, length in AGES.items():
        counts[age] = Count("pk", filter=Q(queued_at__gt=now - length, queued_at__lte=since))
        since = now - length
    counts[LONGER] = Count("pk", filter=Q(queued_at__lte=since))
    waiting = Delivery.objects.order_by().filter(state__in=OPEN, channel__in=list(SENDERS))
    return {
        name.removeprefix("of_"): n
        for name, n in waiting.aggregate(**{f"of_{k}": v for k, v in counts.items()}).items()
    }
