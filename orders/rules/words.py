"""How findings write figures, eyes and lists: the trade's signs, two decimals for powers, and no more than needed.

This module must never know a rule or an order.
"""

from __future__ import annotations

from collections.abc import Iterable

from dispensing.optics.notation import LARGEST_WRITTEN_D, format_power
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism

MINUS = "−"


def power(value_d: float) -> str:
    """A power as it is written on a prescription: ``−3.25``, ``−3.375``; one that no lens has is shortened."""
    if abs(value_d) <= LARGEST_WRITTEN_D:
        return format_power(value_d, minus=MINUS)
    return f"{value_d:+.3g}".replace("-", MINUS)


def whole_power(value: SphereCylinder) -> str:
    """``+4.25 −0.50 × 90``; the sphere alone if there is no cylinder."""
    sphere = power(value.sphere)
    return f"{sphere} {power(value.cylinder)} × {number(value.axis)}" if value.cylinder else sphere


def number(value: float) -> str:
    """A figure with at most two decimal places and no trailing zeros: ``31.5``, ``70``, ``−2``."""
    text = f"{value:.2f}".rstrip("0").rstrip(".") if abs(value) < 1e6 else f"{value:.3g}"
    return "0" if text in ("-0", "0") else text.replace("-", MINUS)


def mm(value: float) -> str:
    """A length: ``31.5 mm``."""
    return f"{number(value)} mm"


def dioptres(value_d: float) -> str:
    """An amount of power without sign: ``0.75 D``."""
    return f"{power(abs(value_d)).lstrip('+')} D"


def degrees(value: float) -> str:
    """An angle: ``9°``."""
    return f"{number(value)}°"


def prism(value: float) -> str:
    """An amount of prism: ``1.5 Δ``."""
    return f"{number(value)} Δ"


def prism_parts(prism: Prism) -> str:
    """A prism split into its parts: ``1.5 Δ base in and 1 Δ base up``; ``none`` for none."""
    return listed(f"{number(amount)} Δ base {base}" for amount, base in prism.written()) or "none"


def listed(items: Iterable[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    words = list(items)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
