"""What the reading page shows: each figure ordered, found, its limit and verdict, beside the field it is typed into.

It puts the verdict's items beside the fields and into the practice's words and cylinder form. It decides nothing.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.forms import BoundField
from django.utils.safestring import mark_safe

from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from dispensing.presentation.figures import axis, figure, measure, power_text
from dispensing.trade.tolerances import FROM_MEMORY
from orders.documents.finished_pair import FinishedReadings, FinishedVerdict, Quantity, VerdictItem
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import EYES, Eye, LensOrder
from orders.drawings.centres_found import CentreFound, centres_drawing
from orders.drawings.power_error import PowerError, power_error_drawing
from orders.forms.finished import FinishedEntry
from orders.models import FinishedReading
from orders.presentation.documents import Headings
from orders.verification.found import HALF_TURN
from orders.verification.ordered import OrderedEye, ordered_eye

LEVELS = {"pass": "clear", "borderline": "ask", "fail": "stop"}
RESULT_WORDS = {"pass": "Pass", "borderline": "Borderline", "fail": "Fail"}
VERDICTS = {
    "accept": ("clear", "As ordered"),
    "measure_again": ("ask", "Measure again"),
    "return": ("stop", "Not as ordered"),
}
NOTHING_READ = ("note", "Nothing is read yet")
QUANTITY_WORDS: dict[Quantity, str] = {
    "meridian_high": "stronger meridian",
    "meridian_low": "weaker meridian",
    "cylinder": "cylinder",
    "axis": "axis",
    "add": "add",
    "prism_horizontal": "horizontal prism",
    "prism_vertical": "vertical prism",
    "height": "height",
    "heights_pair": "heights against each other",
    "pd": "PD",
    "centre_thickness": "centre thickness",
    "base_curve": "base curve",
}
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
class Said:
    """One figure's verdict in words. figures: ordered and found, where the row itself does not say them."""

    level: str
    word: str
    figures: str
    limit: str
    source: str
    from_memory: bool
    own: str


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
    from_memory: str
    drawings: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_drawn(self) -> bool:
        return any(self.drawings.values())


@dataclass(frozen=True)
class Read:
    """What was read, and what the order wants."""

    order: LensOrder
    catalogue: LensCatalogue | None
    readings: FinishedReadings
    verdict: FinishedVerdict
    headings: Headings

    def ordered(self, eye: Eye) -> OrderedEye | None:
        return ordered_eye(self.order, self.readings, eye, self.catalogue)

    def items(self, eye: str) -> list[VerdictItem]:
        return [item for item in self.verdict.items if item.eye == eye]

    @property
    def slips(self) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = (self.verdict.extra or {}).get("slips", [])
        return found


def page_of(read: Read, entry: FinishedEntry) -> FinishedPage:
    is_read = read.readings.right is not None or read.readings.left is not None
    level, word = VERDICTS[read.verdict.verdict] if is_read else NOTHING_READ
    standard = (read.verdict.extra or {})["standard"]["title"]
    cautioned = any((item.extra or {}).get("caution") for item in read.verdict.items)
    return FinishedPage(
        blocks=[_block(read, eye, entry) for eye in EYES if read.order.lenses.eye(eye) or _typed(entry, eye)],
        pair=_pair(read),
        level=level,
        word=word,
        reasons=list(_reasons(read.verdict)) if is_read else [],
        exchanged=next((str(slip["message"]) for slip in read.slips if slip["kind"] == "eyes-exchanged"), ""),
        standard=standard,
        from_memory=FROM_MEMORY if cautioned else "",
        drawings=_drawings(read),
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
            _said(item, read.headings, named=item.quantity.startswith("meridian"))
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


def _said(item: VerdictItem, headings: Headings, *, named: bool) -> Said:
    extra = item.extra or {}
    unit = str(extra.get("unit", ""))
    own = extra.get("own_limit")
    words = f"{QUANTITY_WORDS[item.quantity]} " if named else ""
    return Said(
        level=LEVELS[item.result],
        word=RESULT_WORDS[item.result],
        figures=f"{words}{_value(item, item.ordered)} → {_value(item, item.found)}" if named else _off(item),
        limit=f"±{_size(item.tolerance or 0.0)}{'' if unit == '°' else ' '}{unit}",
        source=f"{extra.get('limit')}: {extra.get('source')}",
        from_memory=bool(extra.get("caution")),
        own=f"here {own['here']}, in the standard {own['standard']}" if own else "",
    )


def _off(item: VerdictItem) -> str:
    """How far it is off, in its own unit."""
    extra = item.extra or {}
    error, unit = float(extra.get("error", 0.0)), str(extra.get("unit", ""))
    return f"{figure(error, 0 if unit == '°' else 2)}{'' if unit == '°' else ' '}{unit} off" if error else "exact"


def _size(value: float) -> str:
    return f"{round(value, 2):g}"


def _value(item: VerdictItem, value: float | None) -> str:
    if value is None:
        return "–"
    unit = (item.extra or {}).get("unit")
    if unit == "D" and item.quantity != "base_curve":
        return power_text(value)
    if unit == "°":
        return axis(value % HALF_TURN or HALF_TURN)
    return f"{figure(value, 2 if unit == 'Δ' else 1)} {unit}"


def _pair(read: Read) -> list[PairRow]:
    rows = [item for quantity in PAIR_ROWS for item in read.items("both") if item.quantity == quantity]
    return [
        PairRow(
            QUANTITY_WORDS[item.quantity].capitalize() if item.quantity != "pd" else "PD of both lenses",
            _value(item, item.ordered),
            _value(item, item.found),
            _said(item, read.headings, named=False),
        )
        for item in rows
    ]


def verdict_level(result: str) -> str:
    """The level of a stored verdict: clear, ask, stop."""
    return VERDICTS[result][0]


def verdict_reasons(reading: FinishedReading) -> list[str]:
    """What stood against a pair that was read."""
    return list(_reasons(FinishedVerdict.model_validate_json(json.dumps(reading.verdict))))


def _reasons(verdict: FinishedVerdict) -> Iterator[str]:
    """What stands against the pair, worst first: failures, borderline figures, and what was not read."""
    for result, words in (("fail", "out of tolerance"), ("borderline", "borderline")):
        named = [_named(item.eye, item.quantity) for item in verdict.items if item.result == result]
        if named:
            yield f"{', '.join(named).capitalize()}: {words}."
    missing = (verdict.extra or {}).get("not_read", [])
    if missing:
        named = [_named(one["eye"], one["quantity"]) for one in missing]
        yield f"Not read yet: {', '.join(named)}."


def _named(eye: str | None, quantity: Quantity) -> str:
    words = "power" if quantity == "meridian_high" and eye != "both" else QUANTITY_WORDS[quantity]
    return f"{words} of the pair" if eye == "both" else f"{eye} {words}"


def _drawings(read: Read) -> dict[str, str]:
    drawn = {f"power-{eye}": _power_drawing(read, eye) for eye in EYES}
    found = {eye: _centre(read, eye) for eye in EYES}
    headings = (read.headings.right, read.headings.left)
    centres = ""
    if any(centre.is_read for centre in found.values()):
        centres = centres_drawing(read.order, read.catalogue, found, headings)
    # Our own SVG, in which every text is escaped.
    return {name: mark_safe(svg) for name, svg in {**drawn, "centres": centres}.items()}  # noqa: S308


def _power_drawing(read: Read, eye: Eye) -> str:
    ordered, typed = read.ordered(eye), read.readings.eye(eye)
    items = {item.quantity: item for item in read.items(eye)}
    if ordered is None or typed is None or not {"meridian_high", "cylinder"} <= set(items):
        return ""
    try:
        found = SphereCylinder.written(typed.sphere, typed.cylinder, typed.axis)
    except OpticsError:
        return ""
    wanted = ordered.power.optical
    if wanted is None:
        return ""
    turn = items.get("axis")
    high = items["meridian_high"]
    error = PowerError(
        ordered=wanted,
        found=found,
        cylinder_d=items["cylinder"].tolerance or 0.0,
        axis_deg=turn.tolerance if turn else None,
        mean_d=high.tolerance or 0.0,
        uncertainty_d=float((high.extra or {})["uncertainty"]),
    )
    return power_error_drawing(error, read.headings.eye(eye))


def _centre(read: Read, eye: Eye) -> CentreFound:
    ordered, typed = read.ordered(eye), read.readings.eye(eye)
    if ordered is None or typed is None:
        return CentreFound()
    limits = {item.quantity: item.tolerance for item in read.items(eye)}
    return CentreFound(
        in_mm=_difference(ordered.pd_mm, typed.pd_mm),
        up_mm=_difference(typed.height_mm, ordered.height_mm),
        allowed_in_mm=limits.get("pd"),
        allowed_up_mm=limits.get("height"),
    )


def _difference(value: float | None, other: float | None) -> float | None:
    return None if value is None or other is None else value - other
