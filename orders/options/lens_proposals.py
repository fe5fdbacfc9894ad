"""Other lenses from the catalogue: corridor, blank, design, material, curve, thickness, or the fellow lens.

Each proposer reads the order and names changes; the check decides whether they help. What belongs to a pair
(design, material, corridor, curve) is changed in both lenses.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from orders.documents.lens_catalogue import Design, Material
from orders.documents.lens_order import Eye
from orders.options.remedy import Proposal
from orders.options.treatment_choice import treatments_on
from orders.rules import words
from orders.rules.case import Case, EyeCase

SHARED = ("design", "material", "corridor_mm", "treatments", "colour")


def whose(case: Case) -> str:
    return "both lenses" if case.is_pair else f"the {case.pair_or_eye} lens"


def for_all(case: Case, **values: Any) -> dict[str, Any]:
    """The same values in every lens ordered."""
    return {f"lenses.{eye.eye}.{key}": value for eye in case.eyes for key, value in values.items()}


def corridors(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    now = eye.figures.corridor_length_mm
    for row in eye.design.corridors if eye.design else ():
        if now is None or abs(row.length_mm - now) > 0.005:
            text = f"Order the {words.mm(row.length_mm)} corridor for {whose(case)}."
            far = abs(row.length_mm - (now or row.length_mm)) / 100.0
            yield Proposal("corridor", text, for_all(case, corridor_mm=row.length_mm), 2.0 + far)


def blanks(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """The design's other blanks, for the eye in question, or for both eyes if both need one."""
    ordered = eye.lens.blank_mm if eye.lens else None
    if ordered is None or eye.design is None:
        return
    for size in sorted({row.diameter_mm for row in eye.design.blanks}):
        if abs(size - ordered) < 0.005:
            continue
        far = abs(size - ordered) / 100.0
        own = {f"lenses.{eye.eye}.blank_mm": size}
        yield Proposal("blank", f"Order the {words.mm(size)} blank for the {eye.eye} lens.", own, 1.0 + far)
        if case.is_pair:
            text = f"Order the {words.mm(size)} blank for both lenses."
            yield Proposal("blank", text, for_all(case, blank_mm=size), 1.001 + far)


def designs(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """Other designs of the same kind, with a material, a corridor and a blank that they have."""
    if eye.lens is None or eye.design is None:
        return
    for design in case.catalogue.designs:
        if design.kind != eye.design.kind or design.id == eye.design.id:
            continue
        material = _material_for(case, design, eye.material)
        if material is None:
            continue
        corridor = _corridor_for(case, design)
        values: dict[str, Any] = {"design": design.id, "corridor_mm": corridor, "blank_mm": None, "base_curve_d": None}
        text = f"Order {design.name}{_with_corridor(corridor)} for {whose(case)}"
        size = 4.0
        if eye.material is None or material.id != eye.material.id:
            values |= {"material": material.id, "treatments": treatments_on(case, eye, material)}
            text, size = f"{text}, in {material.name}", 5.0
        yield Proposal("design", f"{text}.", for_all(case, **values), size)


def _with_corridor(corridor: float | None) -> str:
    return "" if corridor is None else f" with the {words.mm(corridor)} corridor"


def _material_for(case: Case, design: Design, now: Material | None) -> Material | None:
    offered = [material for material in case.catalogue.materials if _comes_in(design, material)]
    if now is None:
        return offered[0] if offered else None
    return min(offered, key=lambda material: abs(material.index - now.index), default=None)


def _comes_in(design: Design, material: Material) -> bool:
    """A design that lists no materials comes in every material in the catalogue, as in the check."""
    return not design.materials or material.id in design.materials


def _corridor_for(case: Case, design: Design) -> float | None:
    """The longest corridor for which the lower fitting height leaves room; if none fits, the shortest."""
    heights = [eye.fitted.height_mm for eye in case.eyes if eye.fitted.height_mm is not None]
    room = case.limit("corridor-fits", "reading_room_mm")
    rows = [(row.length_mm, row.min_height_mm or 0.0) for row in design.corridors]
    fitting = [length for length, least in rows if heights and max(length + room, least) <= min(heights)]
    return max(fitting, default=min((length for length, _ in rows), default=None))


def materials(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """The design's other materials, nearest in index first, with treatments that they take."""
    if eye.design is None or eye.lens is None:
        return
    now = eye.material.index if eye.material else 1.5
    for material in case.catalogue.materials:
        if not _comes_in(eye.design, material) or material.id == eye.lens.material:
            continue
        taken = treatments_on(case, eye, material)
        lost = [t.name for t in eye.treatments if t.id not in taken]
        gained = [t.name for t in map(case.catalogue.treatment, taken) if t and t.id not in eye.lens.treatments]
        text = f"Order {material.name} for {whose(case)}"
        text += f", with {words.listed(gained)}" if gained else ""
        text += f", without {words.listed(lost)}" if lost else ""
        change = for_all(case, material=material.id, treatments=taken)
        yield Proposal("material", f"{text}.", change, 3.0 + abs(material.index - now) + 0.3 * len(lost))


def base_curves(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """One of the design's own curves for every lens; the table's choice for either eye first."""
    in_use = [e.figures.base_curve_d for e in case.eyes]
    curves = {row.curve_d for row in (eye.design.base_curves if eye.design else ())}
    for curve in sorted(curves):
        text = f"Order a base curve of {words.dioptres(curve)} for {whose(case)}."
        far = min((abs(curve - own) for own in in_use if own is not None), default=0.0)
        yield Proposal("base curve", text, for_all(case, base_curve_d=curve), 2.0 + far / 100.0)


def thicknesses(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """The thickness left to the lab, or the least that leaves the edge and centre thick enough."""
    key = f"lenses.{eye.eye}.centre_thickness_mm"
    yield Proposal("thickness", f"Leave the thickness of the {eye.eye} lens to the lab.", {key: None}, 1.1)
    body = eye.figures.body
    if body is not None:
        least = math.ceil(body.centre_thickness_mm * 10.0 - 1e-6) / 10.0
        text = f"Order a centre thickness of {words.mm(least)} for the {eye.eye} lens."
        yield Proposal("thickness", text, {key: least}, 1.0)


def fellow_lens(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """Each lens made the same as its fellow."""
    if not case.is_pair:
        return
    pairs: tuple[tuple[Eye, Eye], ...] = (("left", "right"), ("right", "left"))
    for to, of in pairs:
        lens = case.order.lenses.eye(of)
        values = lens.model_dump(mode="json", include=set(SHARED)) if lens else {}
        change = {f"lenses.{to}.{key}": value for key, value in values.items()}
        yield Proposal("fellow lens", f"Order the {to} lens like the {of} one.", change, 1.0)
