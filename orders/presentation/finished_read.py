"""What was read of a finished pair beside what the order wants, for the parts of its page. It decides nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from orders.documents.finished_pair import FinishedReadings, FinishedVerdict, VerdictItem
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import Eye, LensOrder
from orders.presentation.documents import Headings
from orders.verification.ordered import OrderedEye, ordered_eye


@dataclass(frozen=True)
class Read:
    """What was read, and what the order wants."""

    order: LensOrder
    catalogue: LensCatalogue | None
    readings: FinishedReadings
    verdict: FinishedVerdict
    headings: Headings

    def ordered(self, eye: Eye) -> OrderedEye | None:
        return ordered_eye(self.order, self.readings, eye, self.catalogue)

    def items(self, eye: str) -> list[VerdictItem]:
        return [item for item in self.verdict.items if item.eye == eye]

    @property
    def slips(self) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = (self.verdict.extra or {}).get("slips", [])
        return found
