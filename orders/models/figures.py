"""Figures kept so that a page need not read every order again. All of it can be counted anew from events and documents.

``orders.services.counting`` is the only writer.
"""

from __future__ import annotations

from django.db import models


class CountedOrder(models.Model):
    """What one order, all revisions together, adds to its month (`orders.figures.story.Told`)."""

    number = models.CharField(max_length=20, unique=True)
    month = models.CharField(max_length=7)
    told = models.JSONField()

    def __str__(self) -> str:
        return self.number


class CountedMonth(models.Model):
    """The counts of one month, as in 2026-11, as rows (`orders.figures.counts`)."""

    month = models.CharField(max_length=7, unique=True)
    counts = models.JSONField(default=list)

    class Meta:
        ordering = ["month"]

    def __str__(self) -> str:
        return self.month


class Counting(models.Model):
    """How far it is counted: one row. ``through``: the last event read. What was counted in another time zone or by an
    earlier way of counting is counted anew.
    """

    through = models.BigIntegerField(default=0)
    zone = models.CharField(max_length=60, default="")
    way = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="counting_is_one_row")]

    def __str__(self) -> str:
        return f"through event {self.through}"
