"""What one order tells the figures, from what never changes: its events, what was frozen of it, and what the check said
of it while it was drawn up. Pure.

An order is all revisions of its number together. It belongs to the month in which it was first sent, whatever happens
later, so that its month can be counted again and gives the same. Days are calendar days where the practice is; the
order of events is the order in which they were written down, for a clock can be set back.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

NOT_KNOWN = "Not known"
NOT_SAID = "not said"
"""The cause of a remake from before causes were asked for: nobody can tell whether it was a mistake."""
SENT, READY, NOT_READY = "sent", ("passed", "conceded"), ("returned", "our mistake")
WITHDRAWN = ("cancelled", "superseded")
QUERY = "query"
EYES = ("right", "left")


@dataclass(frozen=True, slots=True)
class Happened:
    """One event of one revision. ``on``: the day where the practice is; ``actor``: a key of the person, or empty."""

    revision: int
    kind: str
    on: date
    actor: str = ""


@dataclass(frozen=True, slots=True)
class Frozen:
    """One revision as it was sent: lens-order/1 and order-report/1 as text."""

    revision: int
    order: str
    report: str


@dataclass(frozen=True, slots=True)
class Again:
    """A remake of the order that was sent and stands. ``whose`` may be empty in old ones."""

    cause: str
    whose: str


@dataclass(frozen=True, slots=True)
class Told:
    """What an order adds to the figures. ``month``: as in 2026-11; ``check``: clear, asked or stopped.

    ``lifted``: rule and person of each stop lifted; ``caught``: rule and level of what stood on a draft and was gone
    when it was sent. ``days``: from sent to ready; None while it is not ready, or where the clock was set back between
    the two (``clock_back``). ``on_time``: ready by the day it was needed; None without such a day, or while not ready.
    """

    month: str
    lab: str
    design: str
    dispenser: str
    mount: str
    remake: bool
    withdrawn: bool
    check: str
    lifted: tuple[tuple[str, str], ...]
    caught: tuple[tuple[str, str], ...]
    days: int | None
    clock_back: bool
    on_time: bool | None
    queries: int
    cause: str = ""
    whose: str = ""

    def as_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_json(cls, kept: Mapping[str, Any]) -> Told:
        pairs = {name: tuple((first, second) for first, second in kept[name]) for name in ("lifted", "caught")}
        return cls(**{**kept, **pairs})


def told_of(
    events: Sequence[Happened],
    frozen: Sequence[Frozen],
    found: Mapping[int, Sequence[tuple[str, str]]],
    again: Again | None,
) -> Told | None:
    """None of an order that never left. ``events``: as written down; ``found``: by revision, rule and level of each
    stop and question that stood on its draft.
    """
    sent = [event for event in events if event.kind == SENT]
    documents = {document.revision: document for document in frozen}
    if not sent or sent[-1].revision not in documents:
        return None
    withdrawn = {event.revision for event in events if event.kind in WITHDRAWN}
    last = sent[-1].revision
    stands = last not in withdrawn
    order = json.loads(documents[last].order)
    ready = _ready(events, last) if stands else None
    days = None if ready is None else (ready - sent[0].on).days
    back = days is not None and days < 0
    needed = order.get("needed_on")
    reports = [json.loads(document.report) for document in frozen]
    return Told(
        month=f"{sent[0].on:%Y-%m}",
        lab=lab_of(order),
        design=design_of(order),
        dispenser=sent[0].actor or NOT_KNOWN,
        mount=(order.get("frame") or {}).get("mount") or NOT_KNOWN,
        remake=order.get("purpose") == "remake",
        withdrawn=not stands,
        check=_check(reports),
        lifted=_lifted(reports),
        caught=_caught(reports, [row for event in sent for row in found.get(event.revision, ())]),
        days=None if back else days,
        clock_back=back,
        on_time=None if ready is None or back or not needed else ready <= date.fromisoformat(needed),
        queries=sum(event.kind == QUERY for event in events),
        cause=again.cause if again and stands else "",
        whose=again.whose if again and stands else "",
    )


def stands(events: Sequence[Happened]) -> bool:
    """Whether any revision was sent and neither cancelled nor replaced."""
    gone = {event.revision for event in events if event.kind in WITHDRAWN}
    return any(event.kind == SENT and event.revision not in gone for event in events)


def lab_of(order: Mapping[str, Any]) -> str:
    return (order.get("lab") or {}).get("name") or NOT_KNOWN


def design_of(order: Mapping[str, Any]) -> str:
    """The right lens's design by name, or the left's where there is no right one."""
    return next(iter(designs_by_eye(order).values()), NOT_KNOWN)


def designs_by_eye(order: Mapping[str, Any]) -> dict[str, str]:
    """The right one first."""
    lenses = order.get("lenses") or {}
    return {eye: _design(lenses[eye]) for eye in EYES if lenses.get(eye)}


def _design(lens: Mapping[str, Any]) -> str:
    return (lens.get("extra") or {}).get("design_name") or lens.get("design") or NOT_KNOWN


def _ready(events: Sequence[Happened], revision: int) -> date | None:
    """When the pair last came to be in order, unless a fault was found after that."""
    ready: date | None = None
    for event in events:
        if event.revision == revision and event.kind in READY:
            ready = event.on
        elif event.revision == revision and event.kind in NOT_READY:
            ready = None
    return ready


def _answered(report: Mapping[str, Any], level: str) -> list[tuple[str, str]]:
    parts = report.get("findings") or ()
    return [(part["rule"], part.get("confirmed_by") or NOT_KNOWN) for part in parts if part["level"] == level]


def _check(reports: Sequence[Mapping[str, Any]]) -> str:
    """By the worst that any revision was sent with; notes need no answer."""
    if any(_answered(report, "stop") for report in reports):
        return "stopped"
    return "asked" if any(_answered(report, "ask") for report in reports) else "clear"


def _lifted(reports: Sequence[Mapping[str, Any]]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted({row for report in reports for row in _answered(report, "stop")}))


def _caught(reports: Sequence[Mapping[str, Any]], found: Sequence[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """What stood on a draft and in no report; a rule once, as a stop if it ever was one."""
    left = {rule for report in reports for level in ("stop", "ask") for rule, _ in _answered(report, level)}
    worst = {rule: "ask" for rule, _ in found if rule not in left}
    worst |= {rule: "stop" for rule, level in found if rule in worst and level == "stop"}
    return tuple(sorted(worst.items()))
