"""Text messages to patients by the HTTP gateway that the installation names: one JSON to it for each message.

``{"to": "+447400123456", "text": …, "key": …}``, with the gateway's key as a bearer token; 2xx means that it took the
message. ``key`` (and ``Idempotency-Key``) is the same at every attempt, but nobody promises that a gateway refuses what
it has already, so what may have arrived waits for a person.
"""

from __future__ import annotations

import json

from django.conf import settings

from orders.lab_addresses import AddressRefused, NameNotFound, Target, resolved
from orders.models import Delivery
from orders.sending.channels.https import post
from orders.sending.errors import DeliveryError, Failure

SERVER = "gateway for text messages"


def send(delivery: Delivery, seconds: float = 60) -> str:
    """Hand the message to the gateway; raises `DeliveryError`. ``seconds``: how long it may take."""
    key = str(delivery.public_id)
    body = {"to": delivery.address, "text": delivery.notice.text, "key": key}
    headers = {"content-type": "application/json", "user-agent": "Datumline", "idempotency-key": key}
    if settings.SMS_GATEWAY_KEY:
        headers["authorization"] = f"Bearer {settings.SMS_GATEWAY_KEY}"
    return post(_gateway(), json.dumps(body, ensure_ascii=False).encode(), headers, seconds, SERVER)


def _gateway() -> Target:
    try:
        return resolved(settings.SMS_GATEWAY_URL, loopback=settings.LABS_ON_THIS_MACHINE)
    except AddressRefused as refused:
        raise DeliveryError(f"SMS_GATEWAY_URL: {refused}", Failure.PERMANENT) from refused
    except NameNotFound as unknown:
        raise DeliveryError(f"SMS_GATEWAY_URL: {unknown}", Failure.TEMPORARY) from unknown
