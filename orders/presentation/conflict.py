"""Two people saved the same draft: where their two versions differ, in words, for the second to decide."""

from __future__ import annotations

from typing import Any

from orders.models import Order
from orders.services.errors import SavedByAnother

LABELS = {
    "prescription": "Prescription",
    "fitting": "Fitting",
    "frame": "Frame",
    "lab": "Lab",
    "supply": "The lab supplies",
    "frame_source": "Frame route",
    "needed_on": "Needed on",
    "other_pair": "Other pair",
    "purpose": "Purpose",
    "remake_of": "Remake of",
    "remarks": "Remarks",
    "kept_lens": "Lens that stays",
    "lifted": "Stops lifted and questions confirmed",
}
LENS_LABELS = {
    "design": "design",
    "material": "material",
    "corridor_mm": "corridor",
    "blank_mm": "blank",
    "treatments": "treatments",
    "base_curve_d": "base curve",
    "centre_thickness_mm": "centre thickness",
    "colour": "tint in words",
    "instruction": "instruction",
}


def differences(refused: SavedByAnother) -> list[dict[str, str]]:
    """One row a field that the two versions hold differently."""
    current: Order = refused.current
    rows = []
    for name, mine in refused.wanted.items():
        theirs = getattr(current, name, None)
        if name == "lenses":
            rows += _lens_rows(mine or {}, theirs or {})
        elif name in LABELS and mine != theirs:
            rows.append({"label": LABELS[name], "mine": _text(mine), "theirs": _text(theirs)})
    return rows


def _lens_rows(mine: dict[str, Any], theirs: dict[str, Any]) -> list[dict[str, str]]:
    rows = []
    for eye in ("right", "left"):
        ours, other = mine.get(eye), theirs.get(eye)
        if (ours is None) != (other is None):
            rows.append({"label": f"{eye.capitalize()} lens", "mine": _made(ours), "theirs": _made(other)})
            continue
        for key, label in LENS_LABELS.items():
            pair = (ours or {}).get(key), (other or {}).get(key)
            if pair[0] != pair[1]:
                rows.append({"label": f"{eye.capitalize()} {label}", "mine": _text(pair[0]), "theirs": _text(pair[1])})
    return rows


def _made(lens: Any) -> str:
    return "to be made" if lens is not None else "not to be made"


def _text(value: Any) -> str:
    if value is None or value == "" or value == []:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(str(part.get("rule", part)) if isinstance(part, dict) else str(part) for part in value)
    return str(value)
