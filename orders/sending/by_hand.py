"""What people do with the outbox by hand: try again, hold back, say that it arrived, note a download."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.utils import timezone

from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.models import Delivery, DeliveryAttempt
from orders.models.deliveries import OPEN_STATES, Channel, DeliveryState

MAY_BE_RETRIED = (DeliveryState.FAILED, DeliveryState.UNKNOWN, DeliveryState.WITHHELD, DeliveryState.RETRY_LATER)
MAY_BE_SETTLED = (DeliveryState.FAILED, DeliveryState.UNKNOWN, DeliveryState.WITHHELD)


class DeliveryMoved(ValueError):
    """The delivery is in another state than the person saw; nothing was done."""

    def __init__(self, delivery: Delivery):
        delivery.refresh_from_db()
        self.delivery = delivery
        super().__init__(f"This delivery is now “{delivery.get_state_display()}”. Look at it again.")


def retry_delivery(*, delivery: Delivery, actor: StaffUser) -> None:
    """Put it back into the outbox, due now, with all its tries before it; to the lab's address as it is by now."""
    anew: dict[str, Any] = {"next_try_at": timezone.now(), "attempts_made": 0, "done_at": None}
    address = _address_now(delivery)
    _change(delivery, actor, "delivery.retry", MAY_BE_RETRIED, DeliveryState.QUEUED, address=address, **anew)


def _address_now(delivery: Delivery) -> str:
    """The usual cure of a mail that was refused is to correct the lab's address."""
    lab = delivery.document.order.lab
    return lab.email or delivery.address if lab and delivery.channel == Channel.EMAIL else delivery.address


def withhold_delivery(*, delivery: Delivery, actor: StaffUser, reason: str = "") -> None:
    """Hold it back before it is sent."""
    _change(delivery, actor, "delivery.withhold", OPEN_STATES, DeliveryState.WITHHELD, problem=reason)


def settle_delivery(*, delivery: Delivery, actor: StaffUser, note: str = "") -> None:
    """The lab says that it has the order, whatever the program knows."""
    _change(delivery, actor, "delivery.settle", MAY_BE_SETTLED, DeliveryState.SENT, problem=note)


def note_download(*, delivery: Delivery, actor: StaffUser) -> None:
    """A document that goes to the lab by hand was taken out; the first time counts."""
    if delivery.channel == Channel.DOWNLOAD and delivery.state == DeliveryState.QUEUED:
        _change(delivery, actor, "delivery.download", (DeliveryState.QUEUED,), DeliveryState.SENT)


@transaction.atomic
def _change(
    delivery: Delivery,
    actor: StaffUser,
    verb: str,
    allowed: tuple[DeliveryState, ...],
    state: DeliveryState,
    *,
    problem: str = "",
    **also: Any,
) -> None:
    before = delivery.state
    wanted = {"state": state, "leased_until": None, "problem": problem[:300], "done_at": timezone.now()} | also
    changes = {"state": [before, str(state)]}
    if wanted.get("address", delivery.address) != delivery.address:
        changes["address"] = [delivery.address, wanted["address"]]
    if before not in allowed or not Delivery.objects.filter(pk=delivery.pk, state=before).update(**wanted):
        raise DeliveryMoved(delivery)
    for name, value in wanted.items():
        setattr(delivery, name, value)
    DeliveryAttempt.objects.create(delivery=delivery, outcome=state, reply=f"By {actor.display_name}. {problem}"[:300])
    patient = delivery.document.order.patient
    record(actor=actor, verb=verb, target=delivery, patient=patient, changes=changes)
