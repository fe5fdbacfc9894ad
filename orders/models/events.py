"""What happened to an order, in sequence, and what its lab said with it. Rows are only ever added.

See :mod:`orders.progress` for what the kinds mean.
"""

from __future__ import annotations

from datetime import date

from django.db import models

from dispensing.models import StaffUser
from orders.models.orders import Order
from orders.progress import EventKind


class OrderEvent(models.Model):
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=15, choices=[(str(kind), str(kind).capitalize()) for kind in EventKind])
    at = models.DateTimeField()
    actor = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    # Who of the registered people took part, where the law asks for one.
    registered = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["order", "pk"]
        indexes = [models.Index(fields=["order", "id"], name="events_of_order")]

    def __str__(self) -> str:
        return f"{self.order} {self.kind}"

    @property
    def job_number(self) -> str:
        """The lab's own number for the job, if it gave one with this event."""
        return self._word.job_number if self._word else ""

    @property
    def promised_on(self) -> date | None:
        """The day that the lab promised with this event."""
        return self._word.promised_on if self._word else None

    @property
    def tracking(self) -> str:
        return self._word.tracking if self._word else ""

    @property
    def _word(self) -> LabWord | None:
        return getattr(self, "lab_word", None)


class LabWord(models.Model):
    """What an event has besides its kind and note when a lab speaks: to the program, or to somebody on the telephone.

    ``key``: the order's, and the lab's own key of what it reports, so that a report is noted once however often it
    comes; None if it gave none. ``body_sha256``: what came under that key, to tell the same report from another.
    """

    event = models.OneToOneField(OrderEvent, on_delete=models.PROTECT, related_name="lab_word")
    job_number = models.CharField(max_length=40, blank=True)
    promised_on = models.DateField(null=True)
    tracking = models.CharField(max_length=80, blank=True)
    key = models.CharField(max_length=160, null=True, blank=True, unique=True)
    body_sha256 = models.CharField(max_length=64, blank=True)

    def __str__(self) -> str:
        return f"{self.event} {self.job_number}".strip()
