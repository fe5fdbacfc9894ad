"""Reading the practice's decisions about limits: what applies here, for every form, page and check."""

from __future__ import annotations

from dispensing.models import PracticeRule
from dispensing.models.practice_rules import PracticeRuleKind
from dispensing.trade import Limits, PracticeLimits
from dispensing.trade.limits import stricter_only


def practice_limits() -> PracticeLimits:
    """What the practice decided. A figure no longer counts once the trade's own is as strict or stricter. One query."""
    rows = list(PracticeRule.objects.all())
    tightened = ((row.rule, row.limit, row.value) for row in rows if row.kind == PracticeRuleKind.TIGHTEN)
    silenced = frozenset(row.rule for row in rows if row.kind == PracticeRuleKind.SILENCE)
    return PracticeLimits(stricter_only(tightened), silenced)


def limits_in_force() -> Limits:
    """The trade's limits, tightened where the practice has set its own."""
    return Limits(practice_limits())
