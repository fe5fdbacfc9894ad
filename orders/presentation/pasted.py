"""A lensmeter's text as the fields of the reading page would hold it. It decides nothing."""

from __future__ import annotations

from orders.documents.lens_order import EYES
from orders.verification.lensmeter import Pasted

WRITTEN = {"sphere": "+.2f", "cylinder": "+.2f", "axis": ".0f", "add": "+.2f", "pd_mm": "g", "height_mm": "g"}
PRISMS = {"prism_in": ("prism_horizontal", "in", "out"), "prism_up": ("prism_vertical", "up", "down")}


def pasted_values(pasted: Pasted) -> dict[str, str]:
    """Each field's name with what is to be written into it."""
    values: dict[str, str] = {}
    for eye in EYES:
        for key, value in pasted.eye(eye).items():
            if key in PRISMS:
                name, plus, minus = PRISMS[key]
                values[f"{eye}-{name}"] = f"{abs(value):.2f}"
                values[f"{eye}-{name}_base"] = "" if not value else plus if value > 0.0 else minus
            else:
                values[f"{eye}-{key}"] = format(value, WRITTEN[key])
    return values
