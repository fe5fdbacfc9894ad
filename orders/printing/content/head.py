"""The size of the paper, and the text of the code printed on it. Pure."""

from __future__ import annotations

from typing import Final, Literal

from orders.documents import words
from orders.documents.lens_order import LensOrder

Paper = Literal["A4", "letter"]
PAPERS: Final[dict[str, Paper]] = {"a4": "A4", "letter": "letter"}
LETTER_COUNTRIES: Final = frozenset(
    ["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"]
)
"""Where offices print on US Letter (from memory of Unicode CLDR's table of paper sizes)."""


def paper_of(order: LensOrder) -> Paper:
    """What the practice set, else what its country prints on."""
    stated = PAPERS.get(words.text_of(order.practice, "paper").lower())
    country = (order.practice.country or "").strip().upper()[:2]
    return stated or ("letter" if country in LETTER_COUNTRIES else "A4")


def code_text(order: LensOrder) -> str:
    """What the code on the paper says: which order of which practice, one fact a line, for a scanner at the bench."""
    practice = order.practice
    return "\n".join(
        (
            f"Order {order.number or words.MISSING} revision {order.revision or 1}",
            f"Practice {practice.name or words.MISSING}",
            f"Account {practice.account or words.MISSING}",
        )
    )
