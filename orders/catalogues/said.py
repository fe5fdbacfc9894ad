"""A material, design or treatment of a catalogue said figure by figure, so that two of them can be compared. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from dispensing.trade.catalogue_figures import figure_of
from orders.documents.key_words import WORDS
from orders.documents.lens_catalogue import Blank, Design, Material, Treatment
from orders.documents.names import DESIGN_KINDS, MOUNTS
from orders.rules.words import listed, number

About = Literal["design", "material", "treatment", "blank", "limit", "price"]
NOT_STATED, OFFERED = "not stated", "offered"
NEEDS = {"vertex": WORDS["vertex_mm"], "pantoscopic": WORDS["pantoscopic_deg"], "face_form": WORDS["face_form_deg"]}
TREATMENT_KINDS = {
    "hard": "hard coat",
    "antireflection": "anti-reflection",
    "tint": "tint",
    "photochromic": "photochromic",
    "polarised": "polarised",
    "mirror": "mirror",
    "other": "other",
}


@dataclass(frozen=True)
class Line:
    """about: what kind of thing it is. value: in words."""

    about: About
    value: str


Said = dict[str, Line]
"""Everything that a part states, by its label."""

Names = Mapping[tuple[str, str], str]
"""What people call a part, by its kind and code."""


def said_of(part: Material | Design | Treatment, names: Names) -> Said:
    """Everything that a part states, in words. names: of the parts that it refers to by their codes."""
    if isinstance(part, Material):
        return dict(_material(part))
    if isinstance(part, Design):
        return dict(_design(part, names))
    return dict(_treatment(part, names))


def _material(part: Material) -> Iterator[tuple[str, Line]]:
    yield "name", Line("material", part.name)
    yield from _figures("material", "materials", part, ("index", "abbe", "density_g_cm3"))
    yield from _figures("limit", "materials", part, ("min_centre_mm",))
    edge = figure_of("materials", "min_edge_mm")
    stated: Mapping[Any, float | None] = part.min_edge_mm
    for mount, words in MOUNTS.items():
        value = stated.get(mount)
        yield f"{edge.words}, {words}", Line("limit", NOT_STATED if value is None else edge.written(value))
    yield "may be drilled", Line("material", _yes_or_no(part.drillable))
    yield "resists impact", Line("material", _yes_or_no(part.impact_resistant))


def _design(part: Design, names: Names) -> Iterator[tuple[str, Line]]:
    yield "name", Line("design", part.name)
    yield "kind", Line("design", DESIGN_KINDS[part.kind])
    for id in part.materials:
        yield f"in {names.get(('materials', id), id)}", Line("material", OFFERED)
    for key in ("sphere", "add"):
        span, figure = getattr(part, key), figure_of("designs", key)
        yield figure.words, Line("limit", NOT_STATED if span is None else figure.within((span[0], span[1])))
    yield from _figures("limit", "designs", part, ("cylinder_max", "prism_max", "clearance_above_mm"))
    for row in part.corridors:
        least = "no minimum height" if row.min_height_mm is None else f"from a height of {number(row.min_height_mm)} mm"
        yield f"corridor {number(row.length_mm)} mm", Line("limit", least)
    near = ("near_inset_mm", "near_zone_radius_mm", "cross_above_prism_point_mm")
    yield from _figures("design", "designs", part, near)
    yield from _segment(part)
    for blank in part.blanks:
        yield _blank(blank), Line("blank", OFFERED)
    for curve in part.base_curves:
        label = f"base curve from {number(curve.from_d)} to {number(curve.to_d)} D"
        yield label, Line("design", f"{number(curve.curve_d)} D")
    yield "needs", Line("design", listed(NEEDS[need] for need in part.needs) or "no figures as worn")
    yield "compensated for the position of wear", Line("design", _yes_or_no(part.compensated))


def _segment(part: Design) -> Iterator[tuple[str, Line]]:
    if part.segment is None:
        return
    yield "shape of the segment", Line("design", part.segment.shape or NOT_STATED)
    keys = ("width_mm", "depth_mm", "inset_mm", "below_centre_mm")
    yield from _figures("design", "designs.segment", part.segment, keys)


def _treatment(part: Treatment, names: Names) -> Iterator[tuple[str, Line]]:
    yield "name", Line("treatment", part.name)
    yield "kind", Line("treatment", TREATMENT_KINDS[part.kind])
    for id in part.materials:
        yield f"on {names.get(('materials', id), id)}", Line("material", OFFERED)
    for id in part.excludes:
        yield f"not together with {names.get(('treatments', id), id)}", Line("limit", OFFERED)
    yield from _figures("treatment", "treatments", part, ("luminous_transmittance",))


def _figures(about: About, of: str, part: Any, keys: tuple[str, ...]) -> Iterator[tuple[str, Line]]:
    for key in keys:
        figure, value = figure_of(of, key), getattr(part, key)
        yield figure.words, Line(about, NOT_STATED if value is None else figure.written(value))


def _blank(blank: Blank) -> str:
    """``blank 70 mm``; with where its centre lies if that is not the prism reference point."""
    away = [f"{number(blank.centre_in_mm)} mm in"] * bool(blank.centre_in_mm)
    away += [f"{number(blank.centre_up_mm)} mm up"] * bool(blank.centre_up_mm)
    return f"blank {number(blank.diameter_mm)} mm{f', centre {listed(away)}' if away else ''}"


def _yes_or_no(value: bool | None) -> str:
    return NOT_STATED if value is None else "yes" if value else "no"
