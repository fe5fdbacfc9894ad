"""What the check said of a draft while it was drawn up: what is gone when it is sent, the check has caught.

Rows are only ever added, one for each rule and level, while nothing is left to choose.
"""

from __future__ import annotations

from django.db import models

from orders.models.orders import Order

LEVELS = [("stop", "Stop"), ("ask", "Question")]


class DraftFinding(models.Model):
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="draft_findings")
    rule = models.CharField(max_length=60)
    level = models.CharField(max_length=4, choices=LEVELS)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["order", "rule", "level"], name="draft_finding_once_a_level"),
        ]

    def __str__(self) -> str:
        return f"{self.order} {self.rule}"
