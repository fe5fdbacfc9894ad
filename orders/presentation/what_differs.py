"""The page of a pair that a wearer cannot get used to: it beside what was worn before, in rows, with what differs."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from dispensing.optics.notation import format_axis, format_power
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism
from orders.documents.finished_pair import FinishedReadings
from orders.documents.key_words import DASH
from orders.documents.lens_order import EYES, parse_order
from orders.documents.order_report import OrderReport
from orders.finished_queries import handed_over_to
from orders.getting_used.differences import Difference, differences
from orders.getting_used.pair_facts import EyeFacts, PairFacts, of_order, of_prescription, of_readings, of_worn
from orders.models import Order, OrderDocument
from orders.presentation.documents import MINUS, Headings
from orders.queries import finished_readings


@dataclass(frozen=True)
class Compared:
    """One earlier pair, or the pair itself as it was read, and what differs."""

    title: str
    between: str
    rows: list[dict[str, Any]]


def differing_context(order: Order, headings: Headings) -> dict[str, Any]:
    """The pair as prescribed and as ordered, the pair read before it, and the one handed over before it."""
    stored = order.documents.all()[0]
    document = parse_order(stored.text)
    this = _of_document("This pair, as ordered", stored)
    read = _read(order, this)
    before = [*_worn(document), *_earlier(order)]
    pairs = [of_prescription("Prescribed", document), this, *read, *before]
    made = [
        Compared("The pair itself, as it was read", "Read against ordered", _rows_of(this, pair, headings))
        for pair in read
    ]
    return {
        "order": order,
        "pairs": [pair.name for pair in pairs],
        "rows": [row for eye in EYES for row in _rows(headings.eye(eye), [pair.eye(eye) for pair in pairs])],
        "pair_rows": _pair_rows(pairs),
        "compared": [
            *(Compared(f"Against: {pair.name}", "Now against then", _rows_of(pair, this, headings)) for pair in before),
            *made,
        ],
        "is_alone": not before,
    }


def _rows_of(before: PairFacts, now: PairFacts, headings: Headings) -> list[dict[str, Any]]:
    return [_told(one, headings) for one in differences(before, now)]


def _read(order: Order, ordered: PairFacts) -> list[PairFacts]:
    """The pair itself as it was last read; it may not be what was ordered."""
    row = finished_readings(order).first()
    if row is None:
        return []
    on = timezone.localdate(row.read_at)
    readings = FinishedReadings.model_validate_json(json.dumps(row.readings))
    return [of_readings(f"This pair, read {on.day} {on:%b %Y}", readings, ordered)]


def _of_document(name: str, stored: OrderDocument) -> PairFacts:
    return of_order(name, parse_order(stored.text), OrderReport.model_validate_json(stored.report))


def _worn(document: Any) -> list[PairFacts]:
    worn = document.patient.present_spectacles
    if worn is None:
        return []
    read = f", read {worn.read_on.day} {worn.read_on:%b %Y}" if worn.read_on else ""
    return [of_worn(f"Worn before{read}", worn)]


def _earlier(order: Order) -> list[PairFacts]:
    """The pair that was handed over last before this one; its own remakes and revisions are the same pair."""
    own = {order.number, order.remake_of.number if order.remake_of else ""}
    earlier = handed_over_to(order.patient).exclude(number__in=own)
    if order.sent_at is not None:
        earlier = earlier.filter(frozen_at__lt=order.sent_at)
    stored = earlier.first()
    return [_of_document(f"Order {stored.number}", stored)] if stored else []


def _rows(heading: str, lenses: list[EyeFacts]) -> list[dict[str, Any]]:
    cells = (
        ("power", [_power(lens.power) for lens in lenses]),
        ("add", [DASH if lens.add_d is None else format_power(lens.add_d, minus=MINUS) for lens in lenses]),
        ("prism", [_prism(lens.prism) for lens in lenses]),
        ("base curve, D", [_figure(lens.base_curve_d, 2) for lens in lenses]),
        ("centre thickness, mm", [_figure(lens.centre_thickness_mm, 1) for lens in lenses]),
        ("corridor, mm", [_figure(lens.corridor_mm, 0) for lens in lenses]),
        ("height, mm", [_figure(lens.height_mm, 1) for lens in lenses]),
        ("PD used, mm", [_figure(lens.pd_mm, 1) for lens in lenses]),
        ("vertex distance, mm", [_figure(lens.vertex_mm, 1) for lens in lenses]),
        ("image, % larger", [_larger(lens) for lens in lenses]),
    )
    return [{"label": f"{heading} {label}", "cells": row} for label, row in cells if set(row) != {DASH}]


def _pair_rows(pairs: list[PairFacts]) -> list[dict[str, Any]]:
    cells = (
        ("Pantoscopic tilt, °", [_figure(pair.tilt_deg, 0) for pair in pairs]),
        ("Face form, °", [_figure(pair.face_form_deg, 0) for pair in pairs]),
    )
    return [{"label": label, "cells": row} for label, row in cells if set(row) != {DASH}]


def _told(one: Difference, headings: Headings) -> dict[str, Any]:
    places = 2 if one.unit in ("D", "Δ") else 1
    return {
        "eye": "Both" if one.eye == "both" else headings.eye(one.eye),
        "what": one.what,
        "change": f"{one.change:+.{places}f} {one.unit}".replace("-", MINUS)
        if one.before is not None
        else f"{one.change:.{places}f} {one.unit}",
        "limit": f"{one.limit:g} {one.unit}",
        "is_likely": one.is_likely,
        "noticed": one.noticed,
        "source": one.source,
    }


def _power(power: SphereCylinder | None) -> str:
    if power is None:
        return DASH
    sphere = format_power(power.sphere, minus=MINUS)
    if not power.cylinder:
        return sphere
    return f"{sphere} {format_power(power.cylinder, minus=MINUS)} × {format_axis(round(power.axis) or 180)}"


def _prism(prism: Prism | None) -> str:
    if prism is None:
        return DASH
    return ", ".join(f"{amount:g}Δ {base}" for amount, base in prism.written()) or "none"


def _larger(lens: EyeFacts) -> str:
    found = lens.magnifying
    return DASH if found is None else f"{100.0 * (found.magnification - 1.0):+.1f}".replace("-", MINUS)


def _figure(value: float | None, places: int) -> str:
    return DASH if value is None else f"{value:.{places}f}"
