"""How much light a lens lets through: one unit throughout, all treatments together, and what that means on the road.

Luminous transmittance is a share from 0 to 1 here. Sources: EN ISO 12312-1 as the College of Optometrists gives it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

LEAST_PERCENT, MOST_PERCENT = 1.0, 100.0
DEPTH = re.compile(r"(?<![\d.,])(\d{1,3}(?:[.,]\d{1,3})?)\s*(?:%|per ?cent)", re.IGNORECASE)
COLOUR = re.compile(
    r"\b(brown|gr[ea]y|green|blue|yellow|amber|orange|red|pink|rose|violet|purple|black|copper|bronze)\b", re.IGNORECASE
)
SEEN_THROUGH = frozenset({"tint", "polarised"})
"""Kinds of treatment that are dyed, whose colour is the one seen through; a mirror's is the one seen from outside."""
SHIFTS_SIGNALS = frozenset({"blue", "orange", "pink", "purple", "red", "rose", "violet"})
"""Colours that take away a part of the spectrum in which signal lights shine (common practice)."""
NEUTRAL = frozenset({"black", "bronze", "brown", "copper", "green", "grey"})
"""Colours in which sun lenses for the road are usually made (common practice)."""


def as_share(stated: float) -> float:
    """Turns a transmittance as stated in a catalogue into a share: 15.0 (per cent) is 0.15.

    Up to 1 it is already a share, because nobody wears a lens of 1 %. A value that is neither (below 0, above 100) is
    returned unchanged and is ignored later.
    """
    return stated / MOST_PERCENT if LEAST_PERCENT < stated <= MOST_PERCENT else stated


def transmittance_percent(stated: Iterable[float | None], colour: str | None = None) -> float | None:
    """The share of light left after all treatments, in per cent; None if nothing states it.

    Light passes through them one after the other, so their shares multiply. ``colour``: the tint in words, “brown 85
    %”; it is only used if no treatment in the list states a figure. See :func:`shares_stated` where the kinds of the
    treatments are known.
    """
    listed = _of_treatments(stated)
    return percent_left_by(colour) if listed is None else listed


def shares_stated(treatments: Iterable[tuple[str, float | None]], colour: str | None) -> list[float]:
    """The light that each treatment (its kind, what it lets through) and the tint in words let through, as stated.

    The words count unless a tint of the list states its own figure, which is the lab's and more reliable. A mirror or
    a coating that states one does not take the words' place: “brown 92 %” behind a mirror is darker than either.
    """
    given = list(treatments)
    stated = [light for _, light in given if light is not None]
    in_words = percent_left_by(colour)
    if in_words is None or any(kind in SEEN_THROUGH for kind, light in given if light is not None):
        return stated
    return [*stated, in_words / MOST_PERCENT]


def percent_left_by(colour: str | None) -> float | None:
    """The light that a tint given in words lets through, in per cent: 8 for “brown 92 %”; None if no depth is given.

    The depth of a tint is its absorption (common practice); for a gradient the deepest counts. A depth above 100 % is
    impossible and is ignored.
    """
    depths = [float(found.replace(",", ".")) for found in DEPTH.findall(colour or "")]
    return min((MOST_PERCENT - depth for depth in depths if depth <= MOST_PERCENT), default=None)


def impossible_depth(colour: str | None) -> float | None:
    """A depth above 100 % among the words of a tint, or None."""
    depths = (float(found.replace(",", ".")) for found in DEPTH.findall(colour or ""))
    return next((depth for depth in depths if depth > MOST_PERCENT), None)


def colours_named(text: str | None) -> frozenset[str]:
    """The colours named in words about a tint, in lower case and with one spelling of grey."""
    return frozenset(found.lower().replace("gray", "grey") for found in COLOUR.findall(text or ""))


def shifts_signals(colours: frozenset[str]) -> bool:
    """Whether a tint of these colours may change how signal lights look. A neutral base with some of them does not."""
    return bool(colours & SHIFTS_SIGNALS) and not colours & NEUTRAL


def _of_treatments(stated: Iterable[float | None]) -> float | None:
    shares = [as_share(value) for value in stated if value is not None]
    known = [share for share in shares if 0.0 <= share <= 1.0]
    return math.prod(known) * MOST_PERCENT if known else None
