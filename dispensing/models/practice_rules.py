"""What this practice has set in place of the trade's facts and rules: a stricter figure, or a question left out."""

import uuid

from django.db import models

from dispensing.models.staff import StaffUser


class PracticeRuleKind(models.TextChoices):
    TIGHTEN = "tighten", "Stricter limit"
    SILENCE = "silence", "Question left out"


class PracticeRule(models.Model):
    """One decision in force. Earlier decisions are on the audit trail.

    ``limit``, ``value``: the figure's name and its value in this practice, in its own unit; empty for a question left
    out.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    rule = models.CharField(max_length=60)
    kind = models.CharField(max_length=8, choices=PracticeRuleKind.choices)
    limit = models.CharField(max_length=60, blank=True)
    value = models.FloatField(null=True, blank=True)
    reason = models.CharField(max_length=300)
    decided_on = models.DateField()
    decided_by = models.ForeignKey(StaffUser, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["rule", "kind", "limit"]
        constraints = [
            models.UniqueConstraint(fields=["rule", "kind", "limit"], name="practice_rule_once_a_limit"),
            models.CheckConstraint(
                condition=models.Q(kind="tighten", value__isnull=False) & ~models.Q(limit="")
                | models.Q(kind="silence", value__isnull=True, limit=""),
                name="practice_rule_has_its_figure",
            ),
            models.CheckConstraint(condition=~models.Q(reason=""), name="practice_rule_has_a_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.rule} {self.limit or self.kind}"
