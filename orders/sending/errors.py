"""The one error that all channels raise: a delivery that did not succeed, and what that means for retrying."""

from __future__ import annotations

from datetime import timedelta
from enum import StrEnum


class Failure(StrEnum):
    """``temporary``: retry later. ``permanent``: retrying cannot help. ``unknown``: it may have arrived. ``fault``: so
    it may, and the fault is our own, which trying again would hide. ``needless``: it is not to be sent any more.
    """

    TEMPORARY = "temporary"
    PERMANENT = "permanent"
    UNKNOWN = "unknown"
    FAULT = "fault"
    NEEDLESS = "needless"


class DeliveryError(Exception):
    """Raised by a channel. ``message``: for people, in plain words, without anything about a patient.

    ``wait``: how long the other side asks not to be tried again.
    """

    def __init__(self, message: str, failure: Failure, wait: timedelta | None = None):
        self.message, self.failure, self.wait = message, failure, wait
        super().__init__(message)
