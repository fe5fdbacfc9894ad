"""One remedy for a finding: in words, as a change to the order, and with what else the check would then say."""

from __future__ import annotations

from dataclasses import dataclass

from orders.documents.order_report import OrderReport
from orders.options.change import Change, is_of_the_draft


@dataclass(frozen=True)
class Proposal:
    """A change that might clear a finding, not yet verified.

    kind: what is changed, such as ``corridor``. size: how much of the order it changes, smallest first; within one
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
    """A verified proposal: with this change the finding is gone and no new stop appears.

    raises: titles of the rules that would ask something they do not ask now. outcome: the figure in question
    after the change, in words; empty if there is none.
    """

    kind: str
    text: str
    change: Change
    raises: tuple[str, ...] = ()
    outcome: str = ""

    @property
    def is_applicable(self) -> bool:
        """Whether it changes only the draft; otherwise a person must change the record in question."""
        return is_of_the_draft(self.change)
