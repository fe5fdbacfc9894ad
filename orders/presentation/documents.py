"""An order's document, and the figures worked out from it, as rows of text for pages. It decides nothing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from dispensing.choice_words import label
from dispensing.optics.imbalance import READING_LEVEL_MM
from dispensing.optics.notation import format_axis, format_power
from orders.documents.key_words import DASH, value_in_words
from orders.documents.lens_order import EYES, Eye, LensOrder, OrderedLens, PrescribedEye
from orders.documents.names import INSTRUCTIONS, edge_words, lens_names
from orders.documents.order_report import Computed, ComputedEye, OrderReport
from orders.documents.powers_side_by_side import in_form
from orders.documents.words import base_curve, sphere_prescribed

MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True)
class Headings:
    """The practice's names for the eyes, and the cylinder form it uses."""

    right: str
    left: str
    plus_cylinder: bool = False

    @classmethod
    def of(cls, practice: Any) -> Headings:
        return cls(practice.right_heading, practice.left_heading, practice.cylinder_form == "plus")

    def eye(self, eye: Eye) -> str:
        return self.right if eye == "right" else self.left


def eye_rows(document: LensOrder, headings: Headings) -> list[dict[str, str]]:
    """One row for each eye: the power as this practice writes it, the prism, and how the lens is centred."""
    return [
        {
            "heading": headings.eye(eye),
            **power_row(document.prescription.eye(eye), headings),
            "pd": _mm(document.fitting.eye(eye).pd_mm),
            "near_pd": _mm(document.fitting.eye(eye).near_pd_mm),
            "height": _mm(document.fitting.eye(eye).height_mm),
            "vertex": _mm(document.fitting.eye(eye).vertex_mm),
        }
        for eye in EYES
    ]


FACTS = (
    ("sphere", "Sphere"),
    ("cylinder", "Cylinder"),
    ("axis", "Axis"),
    ("add", "Add"),
    ("prism", "Prism"),
    ("pd", "PD"),
    ("near_pd", "Near PD"),
    ("height", "Height"),
)


def fact_rows(rows: Iterable[Mapping[str, str]]) -> list[dict[str, Any]]:
    """The rows of `eye_rows`, or of the pair worn now, with those cells that at least one of them has."""
    rows = list(rows)
    known = [(key, label) for key, label in FACTS if any(row.get(key, DASH) != DASH for row in rows)]
    return [{"heading": row["heading"], "cells": [(label, row[key]) for key, label in known]} for row in rows]


def power_row(eye: PrescribedEye, headings: Headings) -> dict[str, str]:
    """The cells of one power, as this practice writes it."""
    sphere, cylinder, axis = in_form(eye, "plus" if headings.plus_cylinder else "minus")
    return {
        "sphere": sphere_prescribed(eye, None if sphere is None else _signed(sphere)) or DASH,
        "cylinder": _signed(cylinder) if cylinder else DASH,
        "axis": format_axis(axis) if cylinder and axis is not None else DASH,
        "add": DASH if eye.add is None else _signed(eye.add),
        "prism": ", ".join(f"{part.amount:g}Δ {part.base}" for part in eye.prism if part.amount and part.base) or DASH,
    }


def job_words(document: LensOrder) -> dict[str, str]:
    """What the lab is to supply and how the frame gets there, as stated in the order."""
    return {
        "use": label(value_in_words("use", document.pair_use)),
        "supply": label(value_in_words("supply", document.supply)),
        "frame_source": label(value_in_words("frame.source", document.frame.source)),
    }


def lens_rows(document: LensOrder, headings: Headings) -> list[dict[str, str]]:
    """What is ordered for each eye, in the catalogue's words."""
    rows = []
    for eye in document.ordered_eyes:
        lens = document.lenses.eye(eye)
        assert lens is not None
        names = lens_names(lens)
        parts = [
            names.design or "no design",
            names.material or "no material",
            f"corridor {lens.corridor_mm:g} mm" if lens.corridor_mm else "",
            f"blank {lens.blank_mm:g} mm" if lens.blank_mm else "",
            f"base {lens.base_curve_d:g} D" if lens.base_curve_d else "",
            f"centre {lens.centre_thickness_mm:g} mm" if lens.centre_thickness_mm else "",
            *names.treatments,
            lens.colour or "",
            INSTRUCTIONS[lens.instruction] if lens.instruction else "",
            _edge(lens),
        ]
        rows.append({"heading": headings.eye(eye), "text": ", ".join(part for part in parts if part)})
    return rows


def _edge(lens: OrderedLens) -> str:
    finish = edge_words(lens.edge.polished, lens.edge.bevel) if lens.edge else ""
    return f"edge {finish}" if finish else ""


# Label, key of the computed block, decimals, unit.
EYE_FIGURES = (
    ("Decentration in", "decentration_in_mm", 1, "mm"),
    ("The same along the lens, with its face form", "centre_in_mm", 1, "mm"),
    ("Decentration up", "decentration_up_mm", 1, "mm"),
    ("Blank needed, from the shape", "blank_needed_mm", 1, "mm"),
    ("Blank by the formula", "blank_by_formula_mm", 1, "mm"),
    ("Near PD", "near_pd_mm", 1, "mm"),
    ("Optical centre drop for the tilt", "optical_centre_drop_mm", 1, "mm"),
    ("Base curve (1.530)", "base_curve_d", 2, "D"),
    ("Centre thickness", "centre_thickness_mm", 1, "mm"),
    ("Thinnest place", "thinnest_mm", 1, "mm"),
    ("Thinnest edge", "edge_min_mm", 1, "mm"),
    ("Thickest edge", "edge_max_mm", 1, "mm"),
    ("Weight", "weight_g", 1, "g"),
)


def computed_rows(report: OrderReport) -> list[dict[str, str]]:
    """The computed figures, rounded for display; a row that is empty for both eyes is left out."""
    computed = report.computed
    rows = [
        {
            "label": label,
            "right": _figure(computed.right, key, places, unit),
            "left": _figure(computed.left, key, places, unit),
        }
        for label, key, places, unit in EYE_FIGURES
    ]
    rows = [row for row in rows if (row["right"], row["left"]) != (DASH, DASH)]
    return [*rows, *_pair_rows(computed)]


def _pair_rows(computed: Computed) -> list[dict[str, str]]:
    pair = (
        ("PD, both eyes", computed.binocular_pd_mm, 1, "mm"),
        ("Distance between box centres", computed.frame_pd_mm, 1, "mm"),
        (f"Vertical imbalance {READING_LEVEL_MM:g} mm below", computed.vertical_imbalance_pd, 2, "Δ"),
    )
    return [
        {"label": label, "pair": f"{value:.{places}f} {unit}"}
        for label, value, places, unit in pair
        if value is not None
    ]


def _figure(eye: ComputedEye, key: str, places: int, unit: str) -> str:
    if key == "base_curve_d":
        return base_curve(eye)
    value = eye.shown(key)
    return DASH if value is None else f"{round(value, places) + 0.0:.{places}f} {unit}"


def _signed(power: float) -> str:
    return format_power(power, minus=MINUS)


def _mm(value: float | None) -> str:
    return DASH if value is None else f"{value:g}"
