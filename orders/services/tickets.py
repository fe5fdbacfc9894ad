"""The code on a work ticket, read from a photo of it, for phones and desks without a scanner."""

from __future__ import annotations

import cv2
import numpy as np

from dispensing.fitting.photos import PhotoRefused, clean_picture

LONGEST_SIDE_PX = 1600
"""A code that fills a tenth of the picture still has some pixels for each of its squares."""


def number_in_picture(content: bytes) -> str:
    """What the QR code in the picture says; empty if none is seen, or the file is no picture."""
    try:
        jpeg = clean_picture(content, LONGEST_SIDE_PX)
    except PhotoRefused:
        return ""
    picture = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_GRAYSCALE)
    if picture is None:
        return ""
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    return str(text)
