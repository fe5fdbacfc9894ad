"""One way out of a finding: in words, as a change of the order, and what else the check would then say."""

from __future__ import annotations

from dataclasses import dataclass

from orders.documents.order_report import OrderReport
from orders.options.change import Change, is_of_the_draft


@dataclass(frozen=True)
class Proposal:
    """A change that might clear a finding, not yet verified.

    kind: what is changed, e.g. ``corridor``. size: how much of the order it turns over, small first; within one
    kind, how far the new choice is from the old one.
    """

    kind: str
    text: str
    change: Change
    size: float


@dataclass(frozen=True)
class Verified:
    """A proposal with the report on the changed order."""

    proposal: Proposal
    report: OrderReport


@dataclass(frozen=True)
class Remedy:
    """A verified proposal: with this change the finding is gone and no new stop comes.

    raises: titles of the rules that would ask something they do not ask now. outcome: the figure in question
    after the change, in words; empty where there is none.
    """

    kind: str
    text: str
    change: Change
    raises: tuple[str, ...] = ()
    outcome: str = ""

    @property
    def is_applicable(self) -> bool:
        """Whether it changes the draft alone; else the record in question must be changed by a person."""
        return is_of_the_draft(self.change)
