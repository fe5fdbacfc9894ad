"""Leaves out a rule's questions in this practice, never a stop, and sets limits for finished pairs lower."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from dispensing.models import PracticeRule, StaffUser
from dispensing.services.practice_rules import leave_out, tighten
from dispensing.trade.tolerances import ToleranceRow, tolerance_set
from orders.rules.registry import Rule, rule_by_id
from orders.verification.judging import uncertainty


def silence(*, actor: StaffUser, rule: str, reason: str) -> PracticeRule:
    """Leave out a rule's questions and notes; its stops still apply. Raises `ValidationError` if it has only stops."""
    found = rule_by_id(rule)
    if found is None:
        raise ValidationError({"rule": f"There is no rule “{rule}”."})
    if not can_be_silenced(found):
        raise ValidationError({"rule": "This rule stops an order; a stop cannot be silenced, only lifted one by one."})
    return leave_out(actor=actor, rule=rule, reason=reason)


def tighten_tolerance(*, actor: StaffUser, standard: str, limit: str, value: float, reason: str) -> PracticeRule:
    """Set a limit for finished pairs lower than its standard; raises `ValidationError` for one that is not lower.

    A limit no larger than the uncertainty of the reading could be met by no pair: each would be borderline.
    """
    row = next((row for row in tolerance_set(standard).rows if row.limit.name == limit), None)
    if row is not None and row.limit.unit != "%" and value <= _doubt(row):
        told = row.limit.written(_doubt(row))
        raise ValidationError(
            {"value": f"A reading itself may be off by {told}: set more, or every pair is borderline."}
        )
    return tighten(actor=actor, rule=standard, limit=limit, value=value, reason=reason)


def _doubt(row: ToleranceRow) -> float:
    """The uncertainty of a reading in the unit of the row; a shift is read as a PD."""
    if row.is_a_shift:
        return uncertainty("pd")
    return uncertainty("meridian_high" if row.quantity == "meridian" else row.quantity)


def can_be_silenced(rule: Rule) -> bool:
    return any(level != "stop" for level in rule.levels)
