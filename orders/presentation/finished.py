"""What the reading page shows: each figure ordered, found, its limit and verdict, beside the field it is typed into.

It puts the verdict's items beside the fields and into the practice's words and cylinder form. It decides nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.forms import BoundField

from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from dispensing.presentation.figures import axis, figure, measure, power_text
from dispensing.trade.tolerances import FROM_MEMORY
from orders.documents.finished_pair import Quantity
from orders.documents.lens_order import EYES, Eye
from orders.forms.finished import FinishedEntry
from orders.presentation.documents import Headings
from orders.presentation.finished_drawings import drawings_of
from orders.presentation.finished_read import Read
from orders.presentation.finished_words import (
    AS_ORDERED_BUT,
    NOTHING_READ,
    QUANTITY_WORDS,
    VERDICTS,
    Said,
    reasons_of,
    said_of,
    value_in_words,
)
from orders.verification.inspection import defects
from orders.verification.ordered import OrderedEye

FIELD_OF: dict[Quantity, str] = {
    "meridian_high": "sphere",
    "meridian_low": "sphere",
    "cylinder": "cylinder",
    "axis": "axis",
    "add": "add",
    "prism_horizontal": "prism_horizontal",
    "prism_vertical": "prism_vertical",
    "height": "height_mm",
    "pd": "pd_mm",
    "centre_thickness": "centre_thickness_mm",
    "base_curve": "base_curve_d",
}
SLIP_FIELDS = {"prism_in": "prism_horizontal", "prism_up": "prism_vertical"}
BASES = {"prism_horizontal": "prism_horizontal_base", "prism_vertical": "prism_vertical_base"}
FIELDS = (
    "sphere",
    "cylinder",
    "axis",
    "add",
    "prism_horizontal",
    "prism_vertical",
    "pd_mm",
    "height_mm",
    "centre_thickness_mm",
    "base_curve_d",
)
PAIR_ROWS: tuple[Quantity, ...] = ("prism_horizontal", "prism_vertical", "pd", "heights_pair")


@dataclass(frozen=True)
class Row:
    """One field of one lens with what is said about it. ordered: in words, a dash where nothing is ordered."""

    name: str
    label: str
    unit: str
    ordered: str
    field: BoundField
    base: BoundField | None
    said: Sequence[Said]
    slips: Sequence[str]

    @property
    def cell_id(self) -> str:
        return f"said-{self.field.html_name}"


@dataclass(frozen=True)
class Block:
    """One lens. same_as: what was read, in the form of the order, where it was read in the other one."""

    eye: Eye
    heading: str
    title: str
    rows: Sequence[Row]
    same_as: str = ""

    @property
    def same_id(self) -> str:
        return f"same-{self.eye}"


@dataclass(frozen=True)
class PairRow:
    label: str
    ordered: str
    found: str
    said: Said


@dataclass(frozen=True)
class FinishedPage:
    """Everything that changes while the readings are typed."""

    blocks: Sequence[Block]
    pair: Sequence[PairRow]
    level: str
    word: str
    reasons: Sequence[str]
    exchanged: str
    standard: str
    standard_id: str
    from_memory: str
    drawings: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_drawn(self) -> bool:
        return any(self.drawings.values())


def page_of(read: Read, entry: FinishedEntry) -> FinishedPage:
    is_read = read.readings.right is not None or read.readings.left is not None
    level, word = VERDICTS[read.verdict.verdict] if is_read else NOTHING_READ
    seen = [point.title for point, _ in defects(entry.inspection())] if entry.data is not None else []
    if seen and level == "clear":
        level, word = AS_ORDERED_BUT
    standard = (read.verdict.extra or {})["standard"]
    cautioned = any((item.extra or {}).get("caution") for item in read.verdict.items)
    return FinishedPage(
        blocks=[_block(read, eye, entry) for eye in EYES if read.order.lenses.eye(eye) or _typed(entry, eye)],
        pair=_pair(read),
        level=level,
        word=word,
        reasons=[*(reasons_of(read.verdict) if is_read else ()), *(f"Defect: {title.lower()}." for title in seen)],
        exchanged=next((str(slip["message"]) for slip in read.slips if slip["kind"] == "eyes-exchanged"), ""),
        standard=standard["title"],
        standard_id=standard["id"],
        from_memory=FROM_MEMORY if cautioned else "",
        drawings=drawings_of(read),
    )


def _typed(entry: FinishedEntry, eye: Eye) -> bool:
    return entry.data is not None and not entry.eye(eye).is_empty


def _block(read: Read, eye: Eye, entry: FinishedEntry) -> Block:
    ordered, form = read.ordered(eye), entry.eye(eye)
    texts = _ordered_texts(ordered, read.headings)
    rows = []
    for name in FIELDS:
        bound = form[name]
        slips = [str(s["message"]) for s in read.slips if _is_beside(s, eye, name)]
        said = [
            said_of(item, named=item.quantity.startswith("meridian"))
            for item in read.items(eye)
            if FIELD_OF.get(item.quantity) == name
        ]
        unit = str(bound.field.widget.attrs.get("data-unit", ""))
        base = form[BASES[name]] if name in BASES else None
        rows.append(Row(name, str(bound.label), unit, texts.get(name, "–"), bound, base, said, slips))
    return Block(eye, read.headings.eye(eye), f"{eye.capitalize()} lens", rows, _same_as(read, ordered, eye))


def _is_beside(slip: dict[str, Any], eye: Eye, name: str) -> bool:
    beside = SLIP_FIELDS.get(slip["field"], slip["field"]) == name
    return beside and slip["eye"] in (eye, None) and slip["kind"] != "eyes-exchanged"


def _ordered_texts(ordered: OrderedEye | None, headings: Headings) -> dict[str, str]:
    """What is ordered of one lens, by field, in the practice's cylinder form."""
    if ordered is None:
        return {}
    texts = {
        "add": power_text(ordered.add) or "–",
        "prism_horizontal": _prism(ordered.prism.in_pd, "in", "out"),
        "prism_vertical": _prism(ordered.prism.up_pd, "up", "down"),
        "pd_mm": measure(_short(ordered.pd_mm), ""),
        "height_mm": measure(_short(ordered.height_mm), ""),
        "centre_thickness_mm": measure(_short(ordered.centre_thickness_mm), ""),
        "base_curve_d": measure(_short(ordered.base_curve_d), ""),
    }
    power = ordered.power.optical
    if power is None:
        return texts
    shown = _in_form(power, headings)
    texts |= {"sphere": power_text(shown.sphere)}
    if shown.cylinder:
        texts |= {"cylinder": power_text(shown.cylinder), "axis": axis(shown.axis)}
    return texts


def _in_form(power: SphereCylinder, headings: Headings) -> SphereCylinder:
    return power.in_plus_cylinder() if headings.plus_cylinder else power.in_minus_cylinder()


def _short(value: float | None) -> float | None:
    """Without the digits that a computed PD has and nobody measures."""
    return None if value is None else round(value, 2)


def _prism(value: float, plus: str, minus: str) -> str:
    return "–" if abs(value) < 0.005 else f"{figure(abs(value), 2)} {plus if value > 0.0 else minus}"


def _same_as(read: Read, ordered: OrderedEye | None, eye: Eye) -> str:
    """The reading in the practice's cylinder form, if it was typed in the other one."""
    typed = read.readings.eye(eye)
    if ordered is None or typed is None or not typed.cylinder or (typed.cylinder > 0.0) == read.headings.plus_cylinder:
        return ""
    try:
        shown = _in_form(SphereCylinder.written(typed.sphere, typed.cylinder, typed.axis), read.headings)
    except OpticsError:
        return ""
    return f"The same as {power_text(shown.sphere)} / {power_text(shown.cylinder)} x {axis(shown.axis)}"


def _pair(read: Read) -> list[PairRow]:
    rows = [item for quantity in PAIR_ROWS for item in read.items("both") if item.quantity == quantity]
    return [
        PairRow(
            QUANTITY_WORDS[item.quantity].capitalize() if item.quantity != "pd" else "PD of both lenses",
            value_in_words(item, item.ordered),
            value_in_words(item, item.found),
            said_of(item, named=False),
        )
        for item in rows
    ]
