"""Leaves out a rule's questions in this practice: only its questions, never a stop."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from dispensing.models import PracticeRule, StaffUser
from dispensing.services.practice_rules import leave_out
from orders.rules.registry import Rule, rule_by_id


def silence(*, actor: StaffUser, rule: str, reason: str) -> PracticeRule:
    """Leave out a rule's questions and notes; its stops still apply. Raises `ValidationError` if it has only stops."""
    found = rule_by_id(rule)
    if found is None:
        raise ValidationError({"rule": f"There is no rule “{rule}”."})
    if not can_be_silenced(found):
        raise ValidationError({"rule": "This rule stops an order; a stop cannot be silenced, only lifted one by one."})
    return leave_out(actor=actor, rule=rule, reason=reason)


def can_be_silenced(rule: Rule) -> bool:
    return any(level != "stop" for level in rule.levels)
