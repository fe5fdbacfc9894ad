"""Judges an order in its present state: its document, the report on it, and which lifted stops still hold.

A stop is lifted, or an ask confirmed, for particular facts. Each entry keeps a hash of them; if they change, the
entry lapses and the finding is open again. This module reads and never writes.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import Any

from django.utils import timezone
from django.utils.dateparse import parse_datetime

from dispensing.queries.limits import practice_limits
from orders.documents.canonical import plain
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder, parse_order
from orders.documents.order_report import FindingPart, OrderReport
from orders.facts import catalogue_of, lifted_parts, order_document
from orders.models import Order, OrderDocument
from orders.rules import PracticeLimits, check, settled
from orders.states import OrderState

NO_CATALOGUE = LensCatalogue(format="lens-catalogue/1", lab="")
Groups = dict[tuple[str | None, str | None], list[FindingPart]]
FACT_SECTIONS = ("prescription", "frame", "fitting", "lenses")
# Other orders are read to find repeats (the same order sent twice, heights from another frame) and what should not
# change (an adult's PD).
MOST_OTHERS = 10


@dataclass(frozen=True)
class Asked:
    """Everything that a judgement depends on. Equal ones are judged alike. ``document``: with nothing lifted."""

    document: LensOrder
    catalogue: LensCatalogue | None
    others: tuple[LensOrder, ...]
    limits: PracticeLimits

    def check(self, on: date | None = None) -> OrderReport:
        """What the check says, with nothing lifted; ``on``: as if it were ordered on that day."""
        return check(self.document_on(on), self.catalogue or NO_CATALOGUE, self.others, self.limits)

    def document_on(self, day: date | None) -> LensOrder:
        return self.document.model_copy(update={"ordered_on": day}) if day else self.document


@dataclass(frozen=True)
class Judgement:
    """What is now known about an order. ``found``: the report with nothing lifted. ``lapsed``: entries in
    ``order.lifted`` that no longer hold.
    """

    asked: Asked
    found: OrderReport
    document: LensOrder
    report: OrderReport
    lapsed: tuple[dict[str, Any], ...]

    @property
    def catalogue(self) -> LensCatalogue | None:
        return self.asked.catalogue

    @property
    def open_findings(self) -> tuple[FindingPart, ...]:
        """Stops not lifted and asks not confirmed, which keep the order from being sent."""
        return tuple(part for part in self.report.findings if part.level != "note" and part.confirmed_by is None)

    @property
    def document_for_any_lens(self) -> LensOrder:
        """The document with only those answers that another lens leaves as they are: none that is about the lens."""
        found = by_rule_and_eye(self.found)
        kept = [entry for entry in self.document.lifted or () if not _is_about_lenses(found[entry.rule, entry.eye])]
        return self.document.model_copy(update={"lifted": tuple(kept)})

    def with_lifted(self, entries: Sequence[dict[str, Any]]) -> Judgement:
        """The same facts with these entries in place of the earlier ones; the rules are not run again."""
        return _judged(self.asked, self.found, entries)

    def numbered(self, number: str) -> Judgement:
        """The same of the same order under its own number, of which the check only asks whether there is one."""
        return replace(
            self,
            asked=replace(self.asked, document=self.asked.document.model_copy(update={"number": number})),
            found=self.found.model_copy(update={"number": number}),
            document=self.document.model_copy(update={"number": number}),
            report=self.report.model_copy(update={"number": number}),
        )


def judge(order: Order) -> Judgement:
    """Judge the order by the trade's and the practice's rules, with the lifted and confirmed entries still valid."""
    asked = asked_of(order)
    return _judged(asked, asked.check(), order.lifted)


def asked_of(order: Order) -> Asked:
    """What the check is given, from the record as it now is."""
    limits = practice_limits()
    return Asked(order_document(order, limits=limits), catalogue_of(order), other_orders(order), limits)


def _judged(asked: Asked, found: OrderReport, entries: Sequence[dict[str, Any]]) -> Judgement:
    said = by_rule_and_eye(found)

    @cache
    def said_on(day: date) -> tuple[LensOrder, Groups]:
        return asked.document_on(day), by_rule_and_eye(asked.check(day))

    holds = [entry for entry in entries if _holds(entry, asked.document, said, said_on)]
    lapsed = tuple(entry for entry in entries if entry not in holds)
    lifted = lifted_parts(holds)
    document = asked.document.model_copy(update={"lifted": lifted})
    return Judgement(asked, found, document, settled(found, lifted or ()), lapsed)


def _holds(
    entry: dict[str, Any], now: LensOrder, said: Groups, said_on: Callable[[date], tuple[LensOrder, Groups]]
) -> bool:
    """Whether an entry was made about the facts as they now are.

    Some findings mention the day of the order, which for a draft moves on each day. Time passing is not a new fact
    while the finding stays the same, so such an entry is compared with what the check said on the entry's own day.
    """
    key = entry.get("rule"), entry.get("eye")
    parts = said.get(key)
    if parts is None or any(part.liftable is False for part in parts):
        return False
    if facts_hash(now, parts) == entry.get("facts"):
        return True
    day = _day_of(entry)
    if day is None or now.ordered_on is None or day >= now.ordered_on:
        return False
    then, said_then = said_on(day)
    before = said_then.get(key)
    if before is None or [part.level for part in before] != [part.level for part in parts]:
        return False
    return facts_hash(then, before) == entry.get("facts")


def _day_of(entry: dict[str, Any]) -> date | None:
    """The day on which the finding was lifted or confirmed."""
    moment = parse_datetime(entry.get("at") or "")
    return timezone.localdate(moment) if moment else None


def by_rule_and_eye(report: OrderReport) -> Groups:
    """The stops and asks by the rule and eye named in ``lifted``: one rule may say several things about an eye."""
    groups: Groups = {}
    for part in report.findings:
        if part.level != "note":
            groups.setdefault((part.rule, part.eye), []).append(part)
    return groups


def facts_hash(document: LensOrder, findings: Sequence[FindingPart]) -> str:
    """A hash of everything that a rule said about one eye and of the facts it was about.

    It covers the findings' own words and figures, and the parts of the order that they point at (all measurements and
    choices if one points at none), without the other eye if it is about one eye. If the same rule says anything more,
    the hash changes: what nobody has read is not settled.
    """
    facts = plain(document)
    said = [[part.rule, part.eye, part.level, part.message, part.found, part.limit] for part in findings]
    about = {
        name: _of_eye(facts.get(name), part.eye)
        for part in findings
        for name in _sections((part.field or "").split(".", 1)[0])
    }
    # What is to be made changes with these two, whatever the finding points at.
    about |= {name: facts[name] for name in ("use", "power_basis") if facts.get(name)}
    text = json.dumps([said, about], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


def _is_about_lenses(findings: Sequence[FindingPart]) -> bool:
    return any("lenses" in _sections((part.field or "").split(".", 1)[0]) for part in findings)


def _sections(section: str) -> tuple[str, ...]:
    return (section,) if section in FACT_SECTIONS else FACT_SECTIONS


def _of_eye(part: Any, eye: str | None) -> Any:
    if not isinstance(part, dict) or eye not in ("right", "left"):
        return part
    other = "left" if eye == "right" else "right"
    return {name: value for name, value in part.items() if name != other}


def other_orders(order: Order) -> tuple[LensOrder, ...]:
    """The patient's last other orders that are still in force, as sent."""
    texts = (
        OrderDocument.objects.filter(
            order__patient_id=order.patient_id,
            order__state=OrderState.SENT,
        )
        .exclude(number=order.number)
        .order_by("-frozen_at")
        .values_list("text", flat=True)[:MOST_OTHERS]
    )
    return tuple(parse_order(text) for text in texts)
