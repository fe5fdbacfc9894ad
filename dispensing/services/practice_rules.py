"""The practice's own rules: making a limit stricter, leaving a question out, and undoing either.

Every decision has a reason, a date and a name, and goes on the audit trail with what applied before. Must never know
what a rule looks at; which rules can be left out is decided by the code that holds the list of them.
"""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from dispensing.models import PracticeRule, StaffUser
from dispensing.models.practice_rules import PracticeRuleKind
from dispensing.services.audit import record
from dispensing.trade.facts import fact_named

LONGEST_REASON = 300


@transaction.atomic
def tighten(*, actor: StaffUser, rule: str, limit: str, value: float, reason: str) -> PracticeRule:
    """Set a stricter figure; raises `ValidationError` for one that is not stricter than the trade's."""
    fact = fact_named(rule, limit)
    if fact is None or fact.stricter is None:
        raise ValidationError({"limit": "This figure cannot be changed here."})
    if not fact.allows(value):
        raise ValidationError(
            {
                "value": f"{fact.written(value)} is not stricter than the trade's {fact.written()}: "
                f"a {fact.stricter} figure can be set."
            }
        )
    return _decide(actor, rule, PracticeRuleKind.TIGHTEN, limit, value, reason)


@transaction.atomic
def leave_out(*, actor: StaffUser, rule: str, reason: str) -> PracticeRule:
    """Leave out a rule's questions and notes; its stops still apply."""
    return _decide(actor, rule, PracticeRuleKind.SILENCE, "", None, reason)


@transaction.atomic
def restore(*, actor: StaffUser, rule: str, limit: str = "") -> None:
    """Go back to the trade's figure if one is named; otherwise reinstate the question left out."""
    kind = PracticeRuleKind.TIGHTEN if limit else PracticeRuleKind.SILENCE
    row = PracticeRule.objects.select_for_update().filter(rule=rule, kind=kind, limit=limit).first()
    if row is None:
        raise ValidationError({"rule": "The practice has set nothing of its own here."})
    record(actor=actor, verb="rule.restore", target=row, changes=_changes(rule, limit, row.value, None, None))
    row.delete()


def _decide(
    actor: StaffUser, rule: str, kind: PracticeRuleKind, limit: str, value: float | None, reason: str
) -> PracticeRule:
    reason = reason.strip()
    if not reason:
        raise ValidationError({"reason": "Say why: whoever meets this rule later will want to know."})
    if len(reason) > LONGEST_REASON:
        raise ValidationError(
            {"reason": f"The reason has {len(reason)} characters; at most {LONGEST_REASON} are allowed."}
        )
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
    fact = fact_named(rule, limit)
    if fact is not None:
        said[fact.label] = [None if value is None else fact.written(value) for value in (before, after)]
    return said | ({"reason": [None, reason]} if reason else {})
