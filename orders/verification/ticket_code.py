"""The QR code on a photo of a work ticket, read in the child process that opens pictures."""

from __future__ import annotations

import cv2
import numpy as np

from dispensing.fitting.photos import clean_picture

LONGEST_SIDE_PX = 1600
"""A code that fills a tenth of the picture still has some pixels for each of its squares."""


def ticket_code(content: bytes) -> tuple[str, bytes]:
    """What the code says, and no bytes; empty if none is seen. Raises PhotoRefused."""
    jpeg = clean_picture(content, LONGEST_SIDE_PX)
    picture = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_GRAYSCALE)
    if picture is None:
        return "", b""
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    return str(text), b""
