"""Reading an acuity as it is written: 6/6, 20/200, 0.1, CF, HM, LP, NPL. Must never judge a lens."""

from __future__ import annotations

import re

POOR = 0.1
"""6/60, 20/200: at or below it an eye counts as poor for the rules about balance and impact."""

FRACTION = re.compile(r"(?<![\d.])(\d+(?:[.,]\d+)?)\s*/\s*(\d+(?:[.,]\d+)?)")
DECIMAL = re.compile(r"^\s*([01][.,]\d+)")
BARELY = re.compile(
    r"\b(cf|fc|hm|lp|pl|nlp|npl|count(ing)? fingers|hand movements?|light perception|no (light )?perception|blind"
    r"|prosthe\w*|artificial)\b",
    re.IGNORECASE,
)


def decimal_acuity(written: str | None) -> float | None:
    """Acuity as a decimal (6/12 is 0.5), 0 for counting fingers and worse; None when it cannot be read."""
    if not written:
        return None
    if BARELY.search(written):
        return 0.0
    fraction = FRACTION.search(written)
    if fraction is not None:
        distance, letter = (float(part.replace(",", ".")) for part in fraction.groups())
        return distance / letter if letter else None
    decimal = DECIMAL.match(written)
    return float(decimal.group(1).replace(",", ".")) if decimal else None


def is_poor(written: str | None) -> bool:
    """Whether the acuity is known and 6/60 or worse."""
    acuity = decimal_acuity(written)
    return acuity is not None and acuity <= POOR + 1e-9
