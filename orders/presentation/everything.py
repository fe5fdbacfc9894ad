"""Everything that an order sends, key by key in words, for whoever reads it once more before it goes.

It is made from the very document that would be sent, so that nothing can be sent that is not shown. It decides nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from dispensing.choice_words import label
from dispensing.optics.notation import format_power
from orders.documents.canonical import plain
from orders.documents.key_words import key_in_words, value_in_words
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import EYES, LensOrder
from orders.documents.words import day
from orders.presentation.documents import MINUS

SECTIONS: Final = {
    "": "The order",
    "practice": "The practice",
    "patient": "The wearer",
    "prescription": "The prescription",
    "previous_prescription": "The last prescription",
    "frame": "The frame",
    "fitting": "The fitting",
    "lenses": "The lenses",
    "kept_lens": "The lens that stays",
}
UNITS: Final = {"_mm": " mm", "_deg": "°", "_d": " D"}
POWERS: Final = ("sphere", "cylinder", "add", "intermediate_add")
SAID_ELSEWHERE: Final = ("format", "lifted", "replaces", "frame.shape.side", "catalogue.sha256")
"""What is no fact of the order, or has its own place on the page, as what was confirmed and what it replaces have."""
IN_THE_NAME: Final = ("design_name", "material_name", "treatment_names", "treatment_kinds")
"""What the document repeats beside a choice, which is shown by that name anyway."""


@dataclass
class Said:
    """One key. cells: its value, or that of the right and of the left eye where each has its own."""

    label: str
    cells: list[str]

    @property
    def for_the_pair(self) -> bool:
        return len(self.cells) == 1


@dataclass(frozen=True)
class Section:
    title: str
    rows: list[Said]


def everything(document: LensOrder, catalogue: LensCatalogue | None) -> list[Section]:
    """The order section by section; a key that has no value is left out."""
    rows: dict[str, dict[str, Said]] = {section: {} for section in SECTIONS}
    for path, value in _leaves(plain(document)):
        eye, bare = _without_eye(path)
        section = path.partition(".")[0]
        said = rows[section if section in SECTIONS else ""]
        text = _text(bare, value, catalogue)
        if eye is None:
            said[bare] = Said(label(key_in_words(bare)), [text])
        else:
            row = said.setdefault(bare, Said(label(key_in_words(bare)), ["–", "–"]))
            row.cells[EYES.index(eye)] = text
    return [Section(SECTIONS[name], list(found.values())) for name, found in rows.items() if found]


def _leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if path in SAID_ELSEWHERE or path.rpartition(".")[2] in IN_THE_NAME:
        return
    if isinstance(value, dict):
        for key, part in value.items():
            yield from _leaves(part, f"{path}.{key}" if path else key)
    elif value not in (None, "", []):
        yield path, value


def _without_eye(path: str) -> tuple[Any, str]:
    steps = path.split(".")
    eye = next((step for step in steps if step in EYES), None)
    return eye, ".".join(step for step in steps if step not in EYES)


def _text(path: str, value: Any, catalogue: LensCatalogue | None) -> str:
    last = path.rpartition(".")[2]
    if last.endswith("_on") and isinstance(value, str):
        return day(date.fromisoformat(value))
    if last in POWERS and isinstance(value, int | float):
        return format_power(float(value), minus=MINUS)
    unit = next((unit for end, unit in UNITS.items() if last.endswith(end)), "")
    shown = float(value) if isinstance(value, int) and not isinstance(value, bool) else value
    return value_in_words(path, shown, catalogue) + (unit if isinstance(shown, float) else "")
