"""The keys of an order and their values in everyday words: ``lenses.right.design`` → "right design".

For pages that show two versions of an order side by side. This module must never know where the two come from.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from orders.causes import CAUSES, WHOSE
from orders.documents import names
from orders.documents.lens_catalogue import LensCatalogue

DASH = "–"

SECTIONS: Final = {
    "previous_prescription": "{} of the last prescription",
    "kept_lens": "{} of the lens that stays",
    "practice": "{} of the practice",
    "patient.present_spectacles": "{} of the pair worn now",
}
"""Parts of an order that must be named with their keys; elsewhere the key alone is clear enough."""

KEYS: Final = {
    "catalogue.issued_on": "issue date of the catalogue",
    "frame.extra.colour": "colour",
    "frame.source": "way of the frame",
    "frame.model": "frame",
    "frame.front_curve_d": "front curve of the frame",
    "frame.shape": "traced shape",
    "frame.colour": "frame colour",
    "frame.material": "frame material",
    "frame.stock_number": "stock number of the frame",
    "frame.side_length_mm": "side length",
    "kept_lens": "lens that stays",
    "lab.name": "lab",
    "lenses.extra.design_kind": "kind of design",
    "lenses.right": "right lens",
    "lenses.left": "left lens",
    "use": "use of the pair",
    "prescription.source": "where the powers are from",
    "prescription.vertex_mm": "vertex distance of the test",
    "previous_prescription": "last prescription",
    "practice.account": "account",
    "practice.name": "name of the practice",
    "ordered_by.name": "ordered by",
    "ordered_by.registration": "registration",
    "patient.reference": "reference",
    "patient.present_spectacles": "pair worn now",
}
"""Complete keys whose last word would not be clear by itself."""

WORDS: Final = {
    "a_mm": "A",
    "b_mm": "B",
    "base_curve_d": "base curve",
    "binocular_pd_mm": "binocular PD",
    "blank_mm": "blank",
    "born_on": "birth date",
    "centre_thickness_mm": "centre thickness",
    "colour": "tint in words",
    "corridor_mm": "corridor",
    "dbl_mm": "DBL",
    "ed_mm": "ED",
    "edge": "edge finish",
    "expires_on": "expiry date",
    "face_form_deg": "face form",
    "height_mm": "height",
    "intermediate_add": "intermediate add",
    "lifted": "stops lifted and questions confirmed",
    "measured_in_this_frame": "measured in this frame",
    "near_distance_mm": "near working distance",
    "near_pd_mm": "near PD",
    "needed_on": "day it is needed",
    "number": "number of the order",
    "ordered_by": "registered person who takes part",
    "other_pair": "other usable pair",
    "pantoscopic_deg": "pantoscopic tilt",
    "pd_mm": "PD",
    "pd_used_by": "which PD that is",
    "pd_used_mm": "PD to be used",
    "power": "power to be made",
    "power_basis": "what the powers allow for",
    "polished": "polished edge",
    "pre_adjusted": "frame adjusted before measuring",
    "protected": "protected patient",
    "read_on": "day it was read",
    "radii_mm": "radii of the traced shape",
    "remake_cause": "cause of the remake",
    "remake_of": "remake of",
    "remake_whose": "whose it was",
    "side": "side of the traced shape",
    "side_length_mm": "side length",
    "supply": "what the lab supplies",
    "tested_on": "date of the test",
    "use": "use of the prescription",
    "vertex_mm": "vertex distance",
}
"""Last words of keys that need other wording than the key itself."""

CHOICES: Final[dict[str, Mapping[Any, str]]] = {
    "purpose": names.PURPOSES,
    "priority": names.PRIORITIES,
    "remake_cause": CAUSES,
    "remake_whose": WHOSE,
    "supply": names.SUPPLIES,
    "frame.source": names.FRAME_SOURCES,
    "frame.mount": names.MOUNTS,
    "use": names.USES,
    "power_basis": names.POWER_BASES,
    "instruction": names.INSTRUCTIONS,
    "design_kind": names.DESIGN_KINDS,
    "pd_used_by": names.PD_BY,
}


def key_in_words(path: str) -> str:
    """The key in a few lower-case words, with the eye first: ``prescription.left.add`` → "left add"."""
    if path in KEYS:
        return KEYS[path]
    section, *steps = path.split(".")
    eyes = [step for step in steps if step in ("right", "left")]
    bare = ".".join(step for step in (section, *steps) if step not in eyes)
    last = bare.rpartition(".")[2]
    said = KEYS.get(bare) or WORDS.get(last) or last.replace("_", " ")
    said = " ".join([*eyes, said])
    if bare in KEYS or not steps:
        return said
    named = next((words for part, words in SECTIONS.items() if bare.startswith(f"{part}.")), "{}")
    return named.format(said)


def value_in_words(path: str, value: Any, catalogue: LensCatalogue | None = None) -> str:
    """A value for people to read: choices in words, catalogue items by name, and a dash for no value."""
    if value is None or value == "" or (isinstance(value, Sequence) and not value):
        return DASH
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    last = path.rpartition(".")[2]
    choices = CHOICES.get(path) or CHOICES.get(last)
    if choices is not None:
        return choices.get(value, str(value))
    if last in ("design", "material", "treatments") and path.startswith(("lenses.", "kept_lens.")):
        return _offered(last, value, catalogue)
    if last == "edge" and isinstance(value, Mapping):
        return names.edge_words(value.get("polished"), value.get("bevel")) or DASH
    if last == "prism" and isinstance(value, list):
        return ", ".join(f"{part.get('amount')} Δ base {part.get('base') or DASH}" for part in value)
    if isinstance(value, list):
        return ", ".join(map(str, value)) if len(value) <= MOST_LISTED else f"{len(value)} figures"
    return str(value)


MOST_LISTED = 6


def _offered(last: str, value: Any, catalogue: LensCatalogue | None) -> str:
    if last == "treatments":
        return ", ".join(_name(catalogue.treatment(code) if catalogue else None, code) for code in value)
    find = None if catalogue is None else catalogue.design if last == "design" else catalogue.material
    return _name(find(value) if find else None, value)


def _name(entry: Any, code: str) -> str:
    return str(entry.name) if entry is not None else code
