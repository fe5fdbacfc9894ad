"""What the check found, grouped as people answer it, and the verdict in a sentence. It decides nothing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from orders.documents.lens_order import EYES
from orders.documents.order_report import FindingPart, OrderReport
from orders.options.by_rule import has_way_out


@dataclass(frozen=True)
class FindingGroup:
    """What one rule says at one level and in one state, about one eye or both: findings that are answered together.

    place: its position in the list, from 1.
    """

    place: int
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
    return [FindingGroup(place, tuple(parts)) for place, parts in enumerate(groups.values(), start=1)]


def verdict_words(report: OrderReport) -> str:
    """The verdict as a sentence that says how much is left to settle."""
    left = [part.level for part in report.findings if part.confirmed_by is None]
    stops, asks = left.count("stop"), left.count("ask")
    if stops:
        also = f", and {_count(asks, 'question')}" if asks else ""
        return f"{_count(stops, 'stop')} to clear before this can be sent{also}."
    if asks:
        return f"{_count(asks, 'question')} to confirm before this can be sent."
    return "Nothing stands in the way of sending this order."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
