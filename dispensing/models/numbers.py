"""The last number given in each series that people read out: patient references and order numbers."""

from django.db import models


class SerialNumber(models.Model):
    # As in "orders.order.number D": the field and the prefix.
    series = models.CharField(max_length=100, primary_key=True)
    last = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"{self.series} {self.last}"
