"""Template filters for figures from photos: differences with their sign, and findings as sentences."""

from __future__ import annotations

import re

from django import template

register = template.Library()
MINUS = re.compile(r"(?<!\S)-(?=\d)")


@register.filter
def signed(value: float) -> str:
    """A difference to a tenth with a true minus sign: ``+0.4``, ``−1.2``, ``0.0``."""
    text = f"{value:+.1f}"
    return "0.0" if text in ("+0.0", "-0.0") else text.replace("-", "\N{MINUS SIGN}")


@register.filter
def sentence(words: str) -> str:
    """A finding of the core, which begins small and ends open, as a sentence with true minus signs."""
    if not words:
        return words
    return MINUS.sub("\N{MINUS SIGN}", f"{words[0].upper()}{words[1:].rstrip('.')}.")


@register.filter
def is_a_mark(name: str | None) -> bool:
    """Whether a suspect is a mark one can go to; a given length or how the head was held is not."""
    return bool(name) and not str(name).endswith(("_mm", "_deg"))


@register.filter
def figure(value: float, decimals: int) -> str:
    """A measured value to so many places, with a true minus sign and never a minus before zero."""
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0 else text.replace("-", "\N{MINUS SIGN}")
