"""Whether a notice is still to be sent, looked at when it leaves: consent, address, and where the pair then is."""

from __future__ import annotations

from orders.models import Delivery, Order
from orders.models.deliveries import Channel, Message
from orders.notices.wording import Kind
from orders.sending.errors import DeliveryError, Failure
from orders.services.notices import NoticeRefused, address_of, require_wanted


def require_still_wanted(delivery: Delivery) -> None:
    """Raise `DeliveryError`, needless, for a notice that is no longer to be sent; what is for a lab passes."""
    if delivery.message != Message.NOTICE:
        return
    channel = Channel(delivery.channel)
    order = Order.objects.select_related("patient").get(pk=delivery.document.order_id)
    try:
        require_wanted(order, Kind(delivery.notice.kind), channel)
        if address_of(order.patient, channel) != delivery.address:
            raise NoticeRefused("The patient's address changed since this was written; write it again.")
    except NoticeRefused as refused:
        raise DeliveryError(f"Not sent. {refused}", Failure.NEEDLESS) from refused
