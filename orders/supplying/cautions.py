"""What the wearer is told about this pair when it is handed over: one sentence each, most important first. Pure.

All but the share of light are common practice among dispensers; the share of light and what it forbids on the road are
judged by the same limits as in the check.
"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.trade import Limits
from orders.documents.lens_order import LensOrder, OrderedLens
from orders.documents.words import extra_of
from orders.printing.content.cautions import road

MULTIFOCAL = ("bifocal", "trifocal", "progressive", "office")
FOR_NEAR_WORK = {
    "near": "For near work only: take it off to walk about, and never drive in it.",
    "intermediate": "For screen and desk only: never drive in it.",
}
BY_KIND = {
    "progressive": "Point the nose at what you look at, and raise or lower the chin until it is clear; at the sides it "
    "stays soft. Wear it all day at first: most people need one to two weeks.",
    "office": "Clear from the desk to across the room at most: never drive in it.",
    "bifocal": "The image jumps at the edge of the segment: practise before you take stairs in it.",
    "trifocal": "The image jumps at the edges of the segments: practise before you take stairs in it.",
}
STEPS = "Lower the chin to see steps and kerbs: through the reading part the ground is blurred and seems nearer."
BY_TREATMENT = {
    "photochromic": "Darkens little behind a windscreen, more in the cold, and clears slowly indoors.",
    "polarised": "Some screens and displays look dark or patchy through it; turn the head to check.",
    "mirror": "The mirror scratches easily: never wipe it dry.",
}
TAKE_OFF = "Take it off with both hands; rimless and cord mounts work loose, so have them tightened now and then."
NO_PROTECTION = "It does not protect the eyes: wear goggles made for the purpose at work, games and gardening."

CARE = (
    "Rinse under lukewarm water, with a drop of washing-up liquid; dry with the cloth.",
    "Keep it in its case, never lens down, and out of hot cars and saunas.",
    "Come in if it slips, presses or bends: adjusting it is part of what you bought.",
)
"""What is said of every pair (common practice)."""


def told_to_the_wearer(order: LensOrder) -> tuple[str, ...]:
    """The cautions for this pair, by the practice's own limits if the document gives any."""
    limits = Limits.stated(extra_of(order.practice, "limits"))
    return tuple(dict.fromkeys([*road(order, limits), *_use(order), *_lenses(order), *_frame(order)]))


def _use(order: LensOrder) -> Iterator[str]:
    if order.pair_use in FOR_NEAR_WORK:
        yield FOR_NEAR_WORK[order.pair_use]


def _lenses(order: LensOrder) -> Iterator[str]:
    for lens in (order.lenses.right, order.lenses.left):
        if lens is not None:
            yield from _lens(lens)


def _lens(lens: OrderedLens) -> Iterator[str]:
    kind = extra_of(lens, "design_kind")
    if kind in BY_KIND:
        yield BY_KIND[kind]
    if kind in MULTIFOCAL:
        yield STEPS
    for treatment in extra_of(lens, "treatment_kinds") or ():
        if treatment in BY_TREATMENT:
            yield BY_TREATMENT[treatment]


def _frame(order: LensOrder) -> Iterator[str]:
    if order.frame.mount in ("drilled", "grooved"):
        yield TAKE_OFF
    yield NO_PROTECTION
