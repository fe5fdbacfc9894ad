"""What somebody means by an order number: as it is written, as it is said, and as the codes on paper give it. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable

# "8", "d-8", "D-00008", "D-00008 rev. 2", or what the lab's paper says in its code: "Order D-00008 revision 2", and
# then the practice, whether the lines still stand apart or not.
_WRITTEN = re.compile(
    r"(?:order\s+)?(?:(?P<prefix>[^\s/]{1,6}?)[-\s]|(?P<letters>[^\W\d_]{1,6}))?(?P<count>\d{1,9})"
    r"(?:\s*(?:/|rev\.?|revision)\s*\d{1,4})?(?:\s+practice\s.*)?",
    re.IGNORECASE | re.DOTALL,
)


def number_written(prefix: str, count: int) -> str:
    return f"{prefix}-{count:05d}"


def numbers_meant(text: str, prefixes: Iterable[str]) -> list[str]:
    """The order numbers that a text can mean, given the prefixes that numbers here begin with; empty if it is none.

    A number without its letters may belong to each of them.
    """
    series, count = _read(text)
    return [] if count is None else [number_written(p, count) for p in prefixes if series in ("", p.casefold())]


def names_its_series(text: str) -> bool:
    """Whether the number comes with its letters, so that it can mean nothing but an order."""
    series, count = _read(text)
    return count is not None and bool(series or text.strip().casefold().startswith("order"))


def may_be_number(text: str) -> bool:
    """Whether it looks like an order number at all, so that nobody need ask which there are."""
    return _read(text)[1] is not None


def _read(text: str) -> tuple[str, int | None]:
    """The letters, which may be missing, and the count; None if this is no number."""
    found = _WRITTEN.fullmatch(text.strip())
    if found is None:
        return "", None
    return (found["prefix"] or found["letters"] or "").casefold(), int(found["count"])
