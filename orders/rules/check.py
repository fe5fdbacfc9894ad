"""The order check: one order and one catalogue in, one report out. It reads, stores and changes nothing else.

A finding whose rule and eye are in the order's `lifted` list keeps its level and says who lifted it and why, but it
no longer counts towards the verdict. To be valid, a lifted stop needs a name and a reason, and a confirmed ask needs
a name. What the order lacks altogether (`liftable` false) stays open whatever the list says. An entry for ``both``
covers each eye; one without an eye covers findings that are not about one eye.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date

from dispensing.trade import Limits, PracticeLimits
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder, Lifted
from orders.documents.order_report import FindingPart, OrderReport, Verdict
from orders.rules.case import Case
from orders.rules.computed import computed
from orders.rules.finding import Finding
from orders.rules.registry import SEVERITY, Rule, all_rules


def check(
    order: LensOrder,
    catalogue: LensCatalogue,
    others: Sequence[LensOrder] = (),
    practice_limits: PracticeLimits | None = None,
    today: date | None = None,
) -> OrderReport:
    """Judge `order` against `catalogue`.

    others: orders to compare with for duplicates; the order itself must not be among them. practice_limits:
    the practice's own limits, used in place of the trade's. today: the day of an order without a date, from which the
    wearer's age is taken; nothing else reads it.
    """
    practice = practice_limits or PracticeLimits()
    case = Case(order, catalogue, others, Limits(practice), today)
    findings = [part for rule in all_rules() for part in parts_of(rule, rule.judge(case), practice)]
    findings.sort(key=lambda part: SEVERITY.index(part.level))
    report = OrderReport(
        number=order.number,
        verdict=_verdict(findings),
        shape=case.shapes.origin,
        findings=tuple(findings),
        computed=computed(case),
    )
    return settled(report, order.lifted or ())


def parts_of(rule: Rule, findings: Iterable[Finding], practice: PracticeLimits) -> list[FindingPart]:
    """A rule's findings as they stand in the report, without what the practice has silenced."""
    return [_part(rule, finding) for finding in findings if not _is_silenced(rule, finding, practice)]


def open_level(findings: Sequence[FindingPart], lifted: Sequence[Lifted]) -> Verdict:
    """The worst level among findings, in any order, that these entries leave open."""
    return _verdict(sorted((_marked(part, lifted) for part in findings), key=lambda part: SEVERITY.index(part.level)))


def settled(report: OrderReport, lifted: Sequence[Lifted]) -> OrderReport:
    """The report on an order with nothing lifted yet, as it becomes with these entries, which no rule reads."""
    if not lifted:
        return report
    findings = tuple(_marked(part, lifted) for part in report.findings)
    return report.model_copy(update={"findings": findings, "verdict": _verdict(findings)})


def _is_silenced(rule: Rule, finding: Finding, practice: PracticeLimits) -> bool:
    return rule.id in practice.silenced and (finding.level or rule.level) != "stop"


def _verdict(findings: Sequence[FindingPart]) -> Verdict:
    """The worst level among the findings that nobody lifted; findings come worst first."""
    return next((part.level for part in findings if part.confirmed_by is None), "clear")


def _part(rule: Rule, finding: Finding) -> FindingPart:
    return FindingPart(
        rule=rule.id,
        title=rule.title,
        level=finding.level or rule.level,
        eye=finding.eye,
        message=finding.message,
        says=finding.says,
        advice=finding.advice,
        found=_finite(finding.found),
        limit=_finite(finding.limit),
        unit=finding.unit,
        remedies=finding.remedies,
        source=rule.origin.source,
        grade=rule.origin.grade,
        field=finding.field,
        liftable=None if finding.liftable else False,
    )


def _marked(part: FindingPart, lifted: Sequence[Lifted]) -> FindingPart:
    """The finding with who lifted or confirmed it, and why, if anybody did."""
    lift = next((entry for entry in lifted if _lifts(entry, part)), None)
    return part.model_copy(update={"confirmed_by": lift.by, "reason": lift.reason}) if lift else part


def _lifts(entry: Lifted, part: FindingPart) -> bool:
    if entry.rule != part.rule or part.liftable is False or not (entry.by or "").strip():
        return False
    covers = entry.eye == "both" or entry.eye == part.eye or (entry.eye is None and part.eye == "both")
    return covers and (part.level != "stop" or bool((entry.reason or "").strip()))


def _finite(value: float | str | None) -> float | str | None:
    return None if isinstance(value, float) and not math.isfinite(value) else value
