"""Mails to a lab about an order it has: not to make it any more, or the practice's answer to its question."""

from __future__ import annotations

from orders.models import Delivery
from orders.models.deliveries import Message
from orders.progress import EventKind


def notice(delivery: Delivery) -> tuple[str, str]:
    """Subject and text. Nothing is said of the patient, and no reason why an order is withdrawn."""
    document = delivery.document
    which = f"{document.number}, revision {document.revision}"
    if delivery.message == Message.ANSWER:
        answer = delivery.event.note if delivery.event else ""
        return f"Our answer on lens order {which}", f"Our answer to your question on lens order {which}:\n\n{answer}\n"
    replaced = delivery.event is not None and delivery.event.kind == EventKind.SUPERSEDED
    why = f"it is {delivery.event.note.lower()}" if replaced and delivery.event else "it is cancelled"
    text = (
        f"Do not make lens order {which}: {why}.\n"
        "Please answer this mail to say that you know, and how far it has got if you have begun.\n"
        f"SHA-256 of the order: {document.sha256}\n"
    )
    return f"DO NOT MAKE lens order {which}", text
