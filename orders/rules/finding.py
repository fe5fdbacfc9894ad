"""What a rule says when it trips: what was found, what is allowed, and what to do about it.

Rules build findings; the registry knows which rule said it and at which level. Must never know an order.
"""

from __future__ import annotations

from dataclasses import dataclass

from orders.documents.order_report import FindingEye, Level


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding.

    says: what was found and what is allowed, in whole sentences in trade words. advice: what to do about it, in whole
    sentences too. found, limit: the two figures (or words) compared, in `unit`. eye: right, left, both, or None where
    it is not about an eye. level: only where a rule has several; None takes the rule's own. remedies: what clears it,
    one way each. field: the key of the order to look at (``fitting.right.height_mm``), for a page to show the finding
    beside its field.
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

    @property
    def message(self) -> str:
        """Both together, as the report's ``message`` has them."""
        return f"{self.says} {self.advice}"
