"""What the check found, grouped as people answer it, and the verdict in a sentence. It decides nothing.

What the order still lacks is kept apart from what the check has an opinion on: on a new draft nothing is wrong with it
yet, it is only not complete.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from orders.documents.lens_order import EYES
from orders.documents.order_report import FindingPart, Level, OrderReport, Verdict
from orders.documents.said_once import Said, said_once
from orders.models import Order
from orders.options.by_rule import has_way_out
from orders.presentation.places import Place, place_of
from orders.rules.words import listed


@dataclass(frozen=True)
class FindingGroup:
    """What one rule says at one level and in one state, about one eye or both: findings that are answered together."""

    parts: tuple[FindingPart, ...]

    @property
    def first(self) -> FindingPart:
        return self.parts[0]

    @property
    def eye(self) -> str | None:
        """The eye that an answer is about: both if the parts are about different eyes."""
        eyes = {part.eye for part in self.parts}
        return self.first.eye if len(eyes) == 1 else "both"

    @property
    def each_eye(self) -> tuple[str, ...]:
        """The eyes for which an answer can also be given separately."""
        eyes = {part.eye for part in self.parts}
        return tuple(eye for eye in EYES if eye in eyes) if len(eyes) > 1 else ()

    @property
    def key(self) -> str:
        """A name that stays the same while the group does, wherever in the list it stands."""
        return f"{self.first.rule}-{self.eye or 'order'}-{'settled' if self.first.confirmed_by else self.first.level}"

    @property
    def said(self) -> list[Said]:
        """What there is to read, with what is alike for right and left in one line."""
        return said_once(self.parts)

    @property
    def has_way_out(self) -> bool:
        return any(has_way_out(part) for part in self.parts)

    @property
    def remedies(self) -> tuple[str, ...]:
        """Each remedy once, even if both eyes have it."""
        return tuple(dict.fromkeys(remedy for part in self.parts for remedy in part.remedies))


def finding_groups(findings: Iterable[FindingPart]) -> list[FindingGroup]:
    """The findings in their order, with those of the same rule, level and state grouped."""
    groups: dict[Any, list[FindingPart]] = {}
    for part in findings:
        groups.setdefault((part.rule, part.level, part.confirmed_by, part.reason), []).append(part)
    return [FindingGroup(tuple(parts)) for parts in groups.values()]


def with_an_answer(findings: Iterable[FindingPart]) -> list[FindingPart]:
    """The findings that can be answered, which leaves out what the order lacks altogether."""
    return [part for part in findings if part.liftable is not False]


@dataclass(frozen=True)
class StillToChoose:
    """Something that the order lacks, in words, and where it is chosen or given."""

    said: Said
    place: Place | None


def still_to_choose(findings: Iterable[FindingPart], order: Order) -> list[StillToChoose]:
    """What the order lacks, in the order of the report; the same for right and left once."""
    return [StillToChoose(said, place_of(field, order)) for field, said in _lacking(findings)]


def _lacking(findings: Iterable[FindingPart]) -> list[tuple[str, Said]]:
    """Each thing that is missing, by the key of the order; that of the right eye if both eyes lack it."""
    missing = _missing(findings)
    # Without any prescription there is nothing to say about the sphere of an eye.
    no_prescription = any(part.field == "prescription" for part in missing)
    named = [part for part in missing if not (no_prescription and _is_within(part, "prescription"))]
    return [(_chosen_in(same[0]), said) for same in _by_field(named).values() for said in said_once(same)]


CHOSEN_IN = {"protected-patient": "ordered_by"}
"""The key of the order in which something is chosen, for a rule whose finding is about another."""


def _chosen_in(part: FindingPart) -> str:
    return CHOSEN_IN.get(part.rule, part.field or "")


def _missing(findings: Iterable[FindingPart]) -> list[FindingPart]:
    return [part for part in findings if part.liftable is False]


def _is_within(part: FindingPart, section: str) -> bool:
    return (part.field or "").startswith(f"{section}.")


def _by_field(findings: Iterable[FindingPart]) -> dict[str, list[FindingPart]]:
    """By the key of the order, the eyes' keys taken together."""
    fields: dict[str, list[FindingPart]] = {}
    for part in findings:
        fields.setdefault((part.field or "").replace(".left.", ".right."), []).append(part)
    return fields


def verdict_level(report: OrderReport) -> Verdict:
    """The colour of the verdict: an order that is only not complete yet is no reason for alarm."""
    left = [part for part in report.findings if part.confirmed_by is None]
    answers: list[Level] = [part.level for part in with_an_answer(left)]
    return answers[0] if answers else "note" if left else "clear"


def verdict_words(report: OrderReport) -> str:
    """The verdict as a sentence that says how much is left to settle."""
    left = [part for part in report.findings if part.confirmed_by is None]
    missing = len(_lacking(left))
    answers = [part.level for part in with_an_answer(left)]
    stops, asks = answers.count("stop"), answers.count("ask")
    if missing:
        counts = ((missing, "thing", "still to choose"), (stops, "stop", "to clear"), (asks, "question", "to confirm"))
        told = listed(f"{_count(number, noun)} {todo}" for number, noun, todo in counts if number)
        return f"{told} {BEFORE_SENDING}."
    if stops:
        also = f", and {_count(asks, 'question')}" if asks else ""
        return f"{_count(stops, 'stop')} to clear {BEFORE_SENDING}{also}."
    if asks:
        return f"{_count(asks, 'question')} to confirm {BEFORE_SENDING}."
    return "Nothing stands in the way of sending this order."


def verdict_in_short(report: OrderReport) -> str:
    """The verdict in a few words, for where there is little room."""
    left = [part for part in report.findings if part.confirmed_by is None]
    answers = [part.level for part in with_an_answer(left)]
    counts = (
        (len(_lacking(left)), "to choose"),
        (answers.count("stop"), "to clear"),
        (answers.count("ask"), "to confirm"),
    )
    return ", ".join(f"{number} {todo}" for number, todo in counts if number) or "Ready to send"


@dataclass(frozen=True)
class FindingsShown:
    """The groups as a page shows them: the worst few at once, the others on demand, and what is settled after them."""

    worst: list[FindingGroup]
    others: list[FindingGroup]
    settled: list[FindingGroup]


SHOWN_AT_ONCE = 3


def findings_shown(findings: Iterable[FindingPart]) -> FindingsShown:
    """Findings come worst first, and stay so."""
    groups = finding_groups(findings)
    left = [group for group in groups if not group.first.confirmed_by]
    settled = [group for group in groups if group.first.confirmed_by]
    return FindingsShown(left[:SHOWN_AT_ONCE], left[SHOWN_AT_ONCE:], settled)


BEFORE_SENDING = "before this can be sent"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
