"""The outbox: a sender that is not running, and mail that needs a person."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from django.utils import timezone

from dispensing.doctor.registry import Diagnosis, doctor_check, note, ok, wrong
from orders.delivery_states import OPEN, STATE_LABELS, DeliveryState
from orders.models import Delivery
from orders.sending.channels import SENDERS
from orders.sending.outbox import LEASE
from orders.stuck import stuck

WAITING_TOO_LONG = timedelta(minutes=15)


@doctor_check("outbox")
def the_outbox_moves() -> Iterator[Diagnosis]:
    now = timezone.now()
    due = Delivery.objects.filter(state__in=OPEN, channel__in=list(SENDERS), next_try_at__lt=now - WAITING_TOO_LONG)
    oldest = due.order_by("next_try_at").first()
    if oldest is not None:
        since = timezone.localtime(oldest.next_try_at)
        yield wrong(
            f"{due.count()} orders wait to be sent, the oldest since {since:%Y-%m-%d %H:%M}",
            "Start the sender: python3 manage.py send_orders --watch",
        )
    if Delivery.objects.filter(state=DeliveryState.SENDING, leased_until__lt=now - LEASE).exists():
        yield wrong("a sender stopped while it was sending", "Start it again: python3 manage.py send_orders --watch")
    seen = stuck(now)
    if seen.sender_missing and oldest is None:
        yield note("no sender is running", "Start it: python3 manage.py send_orders --watch")
    if seen.promises_past:
        yield note(f"orders past the day their lab promised: {seen.promises_past}", "Call the lab.")
    if seen.unacknowledged:
        to_do = "Call the lab, and note on the order's page that it knows not to make it."
        yield note(f"withdrawn orders that the lab has not acknowledged: {seen.unacknowledged}", to_do)
    for state, to_do in (
        (DeliveryState.UNKNOWN, "Ask the lab, then settle each of them or send it again on the order's page."),
        (DeliveryState.FAILED, "Read why on the order's page, mend it, and send again from there."),
    ):
        number = Delivery.objects.filter(state=state).count()
        if number:
            yield note(f"deliveries “{STATE_LABELS[state]}”: {number}", to_do)
    if oldest is None:
        yield ok("no order waits longer than it should")
