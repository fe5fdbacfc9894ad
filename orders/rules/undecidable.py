"""The trade's rules that cannot be decided from an order's data, and why; the page "What we check" lists them too.

Some are decided elsewhere in the product, some within another rule, and some need what only a person can see.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Undecidable:
    """A rule without a check of its own: its number, title, why, and the rule that covers it, if one does."""

    number: int
    title: str
    reason: str
    covered_by: str | None = None


UNDECIDABLE: tuple[Undecidable, ...] = (
    Undecidable(
        3,
        "Right patient",
        "The order carries a reference, not the name on the paper, which is compared at entry if it was read.",
    ),
    Undecidable(
        7,
        "Entry checked against the original",
        "The order does not say who read the paper a second time; a strong change asks by itself.",
    ),
    Undecidable(
        47, "Photo uncertainty", "The ± of a photo stays with the measurement, which asks for a retake itself."
    ),
    Undecidable(
        65,
        "Side length and bridge in the record",
        "The order carries no side length; a missing bridge is found.",
        covered_by="box-complete",
    ),
    Undecidable(
        83,
        "Stock or surfaced",
        "The catalogue has no table of stock lenses; what looks like one is asked about where both its ends meet.",
        covered_by="in-range",
    ),
    Undecidable(
        87,
        "Horizontal prism by misplacement",
        "An order has no centration error; only the finished pair has one.",
    ),
    Undecidable(89, "Equal prism thinning", "Thinning is the lab's choice; the finished pair shows it."),
    Undecidable(
        101,
        "The material takes the tint",
        "Depth limits are not in the catalogue; which material takes which treatment is.",
        covered_by="in-range",
    ),
    Undecidable(108, "Remote edging", "The order dates neither trace nor frame change, and has no drill data."),
    Undecidable(
        109,
        "Frame to follow",
        "The order has no key for a slip; its paper says that the frame follows under the order's own number.",
    ),
    Undecidable(115, "Amending after sending", "A sent order never changes here; a correction is a new revision."),
    Undecidable(116, "Funding and deposit", "Prices and vouchers are not part of a lab order."),
)
