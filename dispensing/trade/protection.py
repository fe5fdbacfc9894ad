"""Where the law on supplying protected people is the one stated as the source of the rule `protected-patient`."""

from __future__ import annotations

BRITISH = frozenset({"GB", "UK"})
"""The countries, as practices write them, in which only a registered person may supply children and the registered
sight-impaired.
"""


def is_british(country: str | None) -> bool:
    """Whether that law holds for a practice in this country, which may be written with its part: ``GB-SCT``."""
    return (country or "").strip().upper().partition("-")[0] in BRITISH
