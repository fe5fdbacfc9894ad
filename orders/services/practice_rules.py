"""The practice's own rules: a limit made stricter, an ask left out, and either taken back. Stops always stand.

Every decision has a reason, a date and a name, and goes on the audit trail with what held before.
"""

from __future__ import annotations

from collections import defaultdict

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from dispensing.models import StaffUser
from dispensing.services.audit import record
from dispensing.trade.facts import fact_named
from orders.models import PracticeRule
from orders.models.practice_rules import PracticeRuleKind
from orders.rules import PracticeLimits
from orders.rules.registry import Rule, rule_by_id

LONGEST_REASON = 300


def practice_limits() -> PracticeLimits:
    """What is in force, for the order check. A figure that the trade has overtaken since counts no more."""
    values: dict[str, dict[str, float]] = defaultdict(dict)
    silenced = set()
    for row in PracticeRule.objects.all():
        if row.kind == PracticeRuleKind.SILENCE:
            silenced.add(row.rule)
            continue
        limit = fact_named(row.rule, row.limit)
        if limit is not None and row.value is not None and limit.allows(row.value):
            values[row.rule][row.limit] = row.value
    return PracticeLimits(dict(values), frozenset(silenced))


@transaction.atomic
def tighten(*, actor: StaffUser, rule: str, limit: str, value: float, reason: str) -> PracticeRule:
    """Set a stricter figure; raises `ValidationError` for one that is not stricter than the trade's."""
    _known(rule)
    named = fact_named(rule, limit)
    if named is None or named.stricter is None:
        raise ValidationError({"limit": "This figure cannot be changed here."})
    if not named.allows(value):
        raise ValidationError(
            {
                "value": f"{named.written(value)} is not stricter than the trade's {named.written()}: "
                f"a {named.stricter} figure can be set."
            }
        )
    return _decide(actor, rule, PracticeRuleKind.TIGHTEN, limit, value, reason)


@transaction.atomic
def silence(*, actor: StaffUser, rule: str, reason: str) -> PracticeRule:
    """Leave a rule's questions and notes out; its stops still stop. Raises `ValidationError` where it only stops."""
    if not can_be_silenced(_known(rule)):
        raise ValidationError({"rule": "This rule stops an order; a stop cannot be silenced, only lifted one by one."})
    return _decide(actor, rule, PracticeRuleKind.SILENCE, "", None, reason)


@transaction.atomic
def restore(*, actor: StaffUser, rule: str, limit: str = "") -> None:
    """Back to the trade: the figure named, or the question left out when no figure is named."""
    kind = PracticeRuleKind.TIGHTEN if limit else PracticeRuleKind.SILENCE
    row = PracticeRule.objects.select_for_update().filter(rule=rule, kind=kind, limit=limit).first()
    if row is None:
        raise ValidationError({"rule": "Nothing of the practice's own is in force here."})
    record(actor=actor, verb="rule.restore", target=row, changes=_changes(rule, limit, row.value, None, None))
    row.delete()


def can_be_silenced(rule: Rule) -> bool:
    return any(level != "stop" for level in rule.levels)


def _known(rule: str) -> Rule:
    found = rule_by_id(rule)
    if found is None:
        raise ValidationError({"rule": f"There is no rule “{rule}”."})
    return found


def _decide(
    actor: StaffUser, rule: str, kind: PracticeRuleKind, limit: str, value: float | None, reason: str
) -> PracticeRule:
    reason = reason.strip()
    if not reason:
        raise ValidationError({"reason": "Say why: whoever meets this rule later will want to know."})
    if len(reason) > LONGEST_REASON:
        raise ValidationError({"reason": f"The reason has {len(reason)} letters; {LONGEST_REASON} are allowed."})
    before = PracticeRule.objects.select_for_update().filter(rule=rule, kind=kind, limit=limit).first()
    decided = {"value": value, "reason": reason, "decided_on": timezone.localdate(), "decided_by": actor}
    row, _ = PracticeRule.objects.update_or_create(rule=rule, kind=kind, limit=limit, defaults=decided)
    changes = _changes(rule, limit, before.value if before else None, value, reason)
    record(actor=actor, verb=f"rule.{kind.value}", target=row, changes=changes)
    return row


def _changes(
    rule: str, limit: str, before: float | None, after: float | None, reason: str | None
) -> dict[str, list[str | None]]:
    said: dict[str, list[str | None]] = {"rule": [rule, rule]}
    named = fact_named(rule, limit)
    if named is not None:
        said[named.label] = [None if value is None else named.written(value) for value in (before, after)]
    return said | ({"reason": [None, reason]} if reason else {})
