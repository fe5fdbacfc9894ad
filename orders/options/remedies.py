"""Computed remedies: possible changes, tried one by one with the order check, and the best of those that help.

A remedy is offered only if, in the changed order, its finding is gone and no new stop has appeared. Each different
change is checked once, however many findings it might clear.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Sequence

from dispensing.trade import Limits, PracticeLimits
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import FramePart, LensOrder
from orders.documents.order_report import FindingPart, OrderReport
from orders.options.by_rule import proposals
from orders.options.change import changed
from orders.options.outcome import outcome
from orders.options.remedy import Proposal, Remedy, Verified
from orders.rules.case import Case
from orders.rules.check import check
from orders.rules.registry import rule_by_id

FindingKey = tuple[str, str | None, str | None]

MOST_REMEDIES = 3
MOST_OF_A_KIND = 2
ONE_IS_ENOUGH = frozenset({"day", "height", "working distance", "thickness", "route"})
"""Kinds for which only the smallest change is worth showing."""


def finding_key(finding: FindingPart) -> FindingKey:
    """Rule, eye and key of the order: what makes a finding the same one on a changed order."""
    return finding.rule, finding.eye, finding.field


def remedies(
    order: LensOrder,
    catalogue: LensCatalogue,
    report: OrderReport,
    frames: Sequence[FramePart] = (),
    *,
    others: Sequence[LensOrder] = (),
    practice_limits: PracticeLimits | None = None,
    only: Collection[str] | None = None,
) -> dict[FindingKey, tuple[Remedy, ...]]:
    """Up to three verified remedies for each open stop and ask in `report`, smallest change first.

    frames: stock frames, each with its box and mount. others, practice_limits: the ones the report was made with.
    only: the rules to look at; None means all. Findings with no remedy have no entry.
    """
    practice = practice_limits or PracticeLimits()
    case = Case(order, catalogue, others, Limits(practice))
    tried: dict[str, OrderReport] = {}

    def judged(proposal: Proposal) -> OrderReport:
        key = json.dumps(dict(proposal.change), sort_keys=True)
        if key not in tried:
            tried[key] = check(changed(order, proposal.change), catalogue, others, practice)
        return tried[key]

    found: dict[FindingKey, tuple[Remedy, ...]] = {}
    for finding in report.findings:
        if (
            finding.level == "note"
            or finding.confirmed_by is not None
            or (only is not None and finding.rule not in only)
        ):
            continue
        best = _best(report, finding, proposals(case, finding, frames), judged)
        if best:
            found[finding_key(finding)] = best
    return found


def _best(
    report: OrderReport,
    finding: FindingPart,
    wanted: Iterable[Proposal],
    judged: Callable[[Proposal], OrderReport],
) -> tuple[Remedy, ...]:
    """The smallest changes that clear the finding, smallest first; trying stops once there are as many as are shown."""
    helping: list[Verified] = []
    for proposal in sorted(wanted, key=lambda proposal: proposal.size):
        kind = proposal.kind
        if sum(one.proposal.kind == kind for one in helping) >= (1 if kind in ONE_IS_ENOUGH else MOST_OF_A_KIND):
            continue
        verified = Verified(proposal, judged(proposal))
        if _clears(finding, report, verified.report):
            helping = _with(verified, helping, finding.rule)
        if len(helping) == MOST_REMEDIES:
            break
    ways = [(_remedy(report, finding, one), _left(finding.rule, one.report)) for one in helping]
    return tuple(way for way, left in sorted(ways, key=lambda pair: (pair[1], len(pair[0].raises))))


def _with(new: Verified, helping: Sequence[Verified], rule: str) -> list[Verified]:
    """Add the new one to those that help, unless one of its kind does as much with less, or more with as little.

    A change that includes an earlier one and also clears the rule for the other eye replaces it.
    """
    left = _left(rule, new.report)
    alike = [one for one in helping if one.proposal.kind == new.proposal.kind]
    if any(_left(rule, one.report) < left or (_holds(new, one) and _left(rule, one.report) == left) for one in alike):
        return list(helping)
    return [*(one for one in helping if not _holds(new, one)), new]


def _holds(new: Verified, old: Verified) -> bool:
    """Whether the two are of the same kind and the new change includes all of the old one."""
    if new.proposal.kind != old.proposal.kind:
        return False
    return all(item in new.proposal.change.items() for item in old.proposal.change.items())


def _left(rule: str, report: OrderReport) -> int:
    """How many of the rule's findings are left: one change may clear it for both eyes."""
    return sum(part.rule == rule for part in report.findings)


def _clears(finding: FindingPart, before: OrderReport, after: OrderReport) -> bool:
    gone = finding_key(finding) not in {finding_key(part) for part in after.findings}
    return gone and _stops(after) <= _stops(before)


def _stops(report: OrderReport) -> set[FindingKey]:
    return {finding_key(part) for part in report.findings if part.level == "stop" and part.confirmed_by is None}


def _remedy(before: OrderReport, finding: FindingPart, verified: Verified) -> Remedy:
    proposal, after = verified.proposal, verified.report
    old = {(part.rule, part.eye) for part in before.findings}
    new = {part.rule for part in after.findings if part.level == "ask" and (part.rule, part.eye) not in old}
    titles = tuple(sorted(rule.title for rule in map(rule_by_id, new) if rule))
    return Remedy(proposal.kind, proposal.text, proposal.change, titles, outcome(finding, before, after))
