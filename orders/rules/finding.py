"""What a rule says when it trips: what was found, what is allowed, and what to do about it.

Rules build findings; the registry knows which rule made one and at which level. This module must never know an order.
"""

from __future__ import annotations

from dataclasses import dataclass

from orders.documents.order_report import FindingEye, Level


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding.

    says: what was found and what is allowed, in complete sentences in the trade's words. advice: what to do about it,
    also in complete sentences. found, limit: the two figures (or words) compared, in `unit`. eye: right, left, both, or
    None if it is not about an eye. level: only if a rule has several; None means the rule's own. remedies: what clears
    it, one way each. field: the key of the order to look at (``fitting.right.height_mm``), so that a page can show the
    finding beside its field. liftable: False for what the order simply lacks, which is no opinion: no reason lifts it.
    """

    says: str
    advice: str
    eye: FindingEye | None = None
    found: float | str | None = None
    limit: float | str | None = None
    unit: str | None = None
    remedies: tuple[str, ...] = ()
    field: str | None = None
    level: Level | None = None
    liftable: bool = True

    @property
    def message(self) -> str:
        """Both together, as in the report's ``message``."""
        return f"{self.says} {self.advice}"
