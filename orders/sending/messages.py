"""What a lab is told of a document, as one JSON text: the same at every attempt, under one key a message.

``{"type": "lens_order.sent", "timestamp": …, "data": {…}}``, as Standard Webhooks has it. ``data.document`` is the
``lens-order/1`` to the last byte, so that its SHA-256 can be checked; ``data.pdf`` is the paper in Base64.
"""

from __future__ import annotations

import base64
import json
from typing import Any

from orders.models import Delivery
from orders.models.deliveries import Message
from orders.progress import EventKind

SENT, WITHDRAWN, ANSWERED = "lens_order.sent", "lens_order.withdrawn", "lens_order.answered"
TYPES = {Message.ORDER: SENT, Message.WITHDRAWAL: WITHDRAWN, Message.ANSWER: ANSWERED}


def key_of(delivery: Delivery) -> str:
    """The same for every way and every attempt by which a lab is told the same thing; it refuses what it has."""
    about = f"_{delivery.event_id}" if delivery.message == Message.ANSWER else ""
    return f"{delivery.message}_{delivery.document.public_id.hex}{about}"


def text_of(delivery: Delivery) -> str:
    """The message as it is posted."""
    kind = Message(delivery.message)
    told = {
        "type": TYPES[kind],
        "timestamp": delivery.queued_at.isoformat(),
        "data": {**_about(delivery), **_PARTS[kind](delivery)},
    }
    return json.dumps(told, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _about(delivery: Delivery) -> dict[str, Any]:
    document = delivery.document
    practice = json.loads(document.text).get("practice") or {}
    return {
        "order": str(document.order.public_id),
        "number": document.number,
        "revision": document.revision,
        "sha256": document.sha256,
        "practice": {name: practice.get(name) for name in ("name", "account")},
    }


def _order(delivery: Delivery) -> dict[str, Any]:
    document = delivery.document
    return {"document": document.text, "pdf": base64.b64encode(bytes(document.pdf)).decode()}


def _withdrawal(delivery: Delivery) -> dict[str, Any]:
    """Why is not said: the reason is about the patient. An acknowledgement is asked for."""
    replaced = delivery.event is not None and delivery.event.kind == EventKind.SUPERSEDED
    return {"because": "replaced" if replaced else "cancelled", "acknowledge": True}


def _answer(delivery: Delivery) -> dict[str, Any]:
    return {"answer": delivery.event.note if delivery.event else ""}


_PARTS = {Message.ORDER: _order, Message.WITHDRAWAL: _withdrawal, Message.ANSWER: _answer}
