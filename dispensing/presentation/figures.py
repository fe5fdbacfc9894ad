"""Figures as the trade writes them, with true minus signs; a missing figure is a dash or empty."""

from __future__ import annotations

import re
from decimal import Decimal

from dispensing.optics.notation import format_axis, format_power
from dispensing.prescribing.eye import MINUS
from dispensing.trade.facts import fact_named

HYPHEN_AS_MINUS = re.compile(r"(?<!\S)-(?=\d)")


def power_text(value: object, plano: str | None = None) -> str:
    """A power with its sign and a true minus; empty if there is none."""
    if value is None or value == "":
        return ""
    return format_power(float(str(value)), plano=plano, minus=MINUS)


def power(value: Decimal | float | None) -> str:
    """A power as the trade writes it: ``−3.25``, ``+0.125``; a dash if there is none."""
    return power_text(value) or "–"


def axis(value: int | float | str | None) -> str:
    """Whole degrees, 180 for 0, no degree sign; a dash if there is no axis."""
    return "–" if value is None or value == "" else format_axis(float(value))


def measure(value: Decimal | float | None, suffix: str = "mm") -> str:
    """A length without needless zeros: ``52.5 mm``; a dash if it is not known."""
    if value is None or value == "":
        return "–"
    return f"{Decimal(str(value)).normalize():f} {suffix}".rstrip()


def figure(value: float, decimals: int) -> str:
    """A measured value to a given number of places, with a true minus sign and never a minus before zero."""
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0 else text.replace("-", MINUS)


def signed(value: float) -> str:
    """A difference to a tenth with a true minus sign: ``+0.4``, ``−1.2``, ``0.0``."""
    text = f"{value:+.1f}"
    return "0.0" if text in ("+0.0", "-0.0") else text.replace("-", MINUS)


def sentence(words: str) -> str:
    """A finding from the core, which has no capital or full stop, as a sentence with true minus signs."""
    if not words:
        return words
    return HYPHEN_AS_MINUS.sub(MINUS, f"{words[0].upper()}{words[1:].rstrip('.')}.")


def fact(subject: str, name: str) -> str:
    """``{% fact "id-card" "length_mm" %}``: a figure of the trade with its unit. KeyError for an unknown one."""
    found = fact_named(subject, name)
    if found is None:
        raise KeyError(f"{subject} {name}")
    return found.written()
