"""What happened to an order, in sequence. Rows are only ever added; see :mod:`orders.progress` for their meaning."""

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
