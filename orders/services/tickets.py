"""The code on a work ticket, read from a photo of it, for phones and desks without a scanner."""

from __future__ import annotations

from dispensing.decoding.one_at_a_time import in_child
from dispensing.fitting.photos import PhotoRefused


def number_in_picture(content: bytes) -> str:
    """What the QR code in the picture says; empty if none is seen, or the file is no picture."""
    try:
        return str(in_child("orders.verification.ticket_code:ticket_code", content)[0])
    except PhotoRefused:
        return ""
