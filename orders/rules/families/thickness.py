"""Is the lens neither too thick nor too thin: index, edge, ordered centre thickness?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from dispensing.prescribing.slips import TEN
from dispensing.trade.facts import data_file
from orders.documents.lens_catalogue import Material
from orders.rules import words
from orders.rules.at_risk import reason_for_impact_resistance
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least, below
from orders.rules.finding import Finding
from orders.rules.registry import Family
from orders.rules.wraps import is_wrap

rule = Family("thickness").rule


@rule(
    id="index-for-power",
    number=66,
    level="ask",
    title="An index that suits the power",
    why="A strong power in a low index is thick and heavy, in a large frame more than in a small one.",
)
def index_for_power(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        mean, material = eye.made_power.mean_sphere, eye.material
        saves = None if material is None else what_a_higher_index_saves(case, eye, material)
        most = None if material is None else _most_for_index(material.index)
        if mean is None or material is None or most is None or saves == "":
            continue
        yield Finding(
            f"The {eye.eye} lens has a mean sphere of {words.power(mean)} in {material.name}; up to "
            f"{words.dioptres(most)} is usual for that index.{saves or ''}",
            "Offer a higher index, or confirm.",
            eye.eye,
            abs(mean),
            most,
            "D",
            ("Offer a material of higher index.", "Confirm that the wearer chose it."),
            eye.at("lenses.material"),
        )


def what_a_higher_index_saves(case: Case, eye: EyeCase, material: Material) -> str | None:
    """What the highest index on offer would save, in words: empty if hardly anything, None if not known.

    The guide values take no account of frame or wearer. In a small frame that suits the eyes, a strong lens is thin
    enough in a middle index, which also disperses colours less than a high one. For somebody at risk only
    impact-resistant materials are compared, so that nobody is asked to leave one for a thinner lens.
    """
    mean, most = eye.made_power.mean_sphere, _most_for_index(material.index)
    if mean is None or most is None or not above(abs(mean), most):
        return ""
    tough = reason_for_impact_resistance(case) is not None and material.impact_resistant is True
    higher = [one for one in eye.materials_on_offer if above(one.index, material.index)]
    offered = [one for one in higher if one.impact_resistant or not tough]
    return _saving(case, eye, material, max(offered, key=lambda one: one.index, default=None))


def _saving(case: Case, eye: EyeCase, material: Material, higher: Material | None) -> str | None:
    is_ordered = eye.material is not None and material.id == eye.material.id
    now = eye.figures.body_as_made if is_ordered else eye.figures.body_in(material)
    then = None if higher is None else eye.figures.body_in(higher)
    if now is None or (higher is not None and then is None):
        return None
    if higher is None or then is None:
        return ""
    thick, thin = (max(body.edge_max_mm, body.centre_thickness_mm) for body in (now, then))
    if below(thick - thin, case.limit("index-for-power", "worth_mm")):
        return ""
    return f" It will be up to {words.mm(round(thick, 1))} thick, in {higher.name} up to {words.mm(round(thin, 1))}."


def _most_for_index(index: float) -> float | None:
    """The mean sphere in D up to which an index is usual; None if there is no limit."""
    for row in data_file("index_for_power")["index"]:
        if index <= row["up_to_index"]:
            return float(row["mean_sphere_d"])
    return None


@rule(
    id="edge-thick",
    number=67,
    level="ask",
    title="An edge that is not too thick",
    why="Drilled mounts do not hold well on a thick edge; a thick rimmed one is heavy, and in a wrap nears the face.",
)
def edge_thick(case: Case) -> Iterator[Finding]:
    name, kind = _mount_of(case)
    for eye in case.eyes if name else ():
        body, most = eye.figures.body_as_made, case.limit("edge-thick", name)
        if body is not None and above(body.edge_max_mm, most):
            smaller = "Choose a wrap with smaller lenses" if kind == "wrapped" else "Choose a smaller frame"
            yield Finding(
                f"The edge of the {eye.eye} lens will be up to {words.mm(body.edge_max_mm)}; for a {kind} mount "
                f"{words.mm(most)} is the most.",
                f"{smaller} or a higher index.",
                eye.eye,
                body.edge_max_mm,
                most,
                "mm",
                (f"{smaller}, or one nearer the PD.", "Choose a material of higher index."),
                eye.at("lenses.material"),
            )


def _mount_of(case: Case) -> tuple[str, str]:
    """Name of the limit, and the kind of mount in words; empty if neither mount nor wrap is known."""
    if case.order.frame.mount == "drilled":
        return "drilled_mm", "drilled"
    if is_wrap(case.order, case.limits):
        return "wrapped_mm", "wrapped"
    return ("rimmed_mm", "rimmed") if case.order.frame.mount else ("", "")


@rule(
    id="edge-minimum",
    number=68,
    level="stop",
    title="The ordered thickness leaves enough edge",
    why="A groove or a drill hole in too thin an edge chips and cracks.",
)
def edge_minimum(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        body, least = eye.figures.body_as_ordered, eye.figures.min_edge_mm
        if body is None or least is None or not below(body.edge_min_mm, least):
            continue
        thinnest = eye.figures.body
        better = None if thinnest is None else words.mm(round(thinnest.centre_thickness_mm + 0.05, 1))
        advice = f"Order {better} of centre thickness, or leave it to the lab." if better else "Leave it to the lab."
        yield Finding(
            f"With the ordered centre of {words.mm(body.centre_thickness_mm)} the edge of the {eye.eye} lens is "
            f"{words.mm(body.edge_min_mm)} at its thinnest; this mount needs {words.mm(least)}.",
            advice,
            eye.eye,
            body.edge_min_mm,
            least,
            "mm",
            (advice, "Choose a smaller frame."),
            eye.at("lenses.centre_thickness_mm"),
        )


@rule(
    id="centre-minimum",
    number=70,
    level=("stop", "ask"),
    title="The ordered centre is not below the material's minimum",
    why="A thin centre flexes, cracks and does not withstand a blow; one many times thicker is a slip of the point.",
)
def centre_minimum(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        yield from _far_too_thick(case, eye)
        ordered = eye.lens.centre_thickness_mm if eye.lens else None
        least, whose = _least_centre(case, eye)
        if ordered is None or least is None or eye.material is None:
            continue
        start = f"A centre thickness of {words.mm(ordered)} is ordered for the {eye.eye} lens"
        needs = f"{whose} needs at least {words.mm(least)}"
        if below(ordered, least):
            yield _too_thin(eye, f"{start}; {needs}.", ordered, least, least)
            continue
        body, thinnest = eye.figures.body_as_ordered, eye.figures.body
        if body is not None and body.is_thinnest_inside and below(body.thinnest_mm, least):
            better = None if thinnest is None else math.ceil(thinnest.centre_thickness_mm * 10.0 - 1e-6) / 10.0
            says = f"{start}; its prism makes it {words.mm(round(body.thinnest_mm, 2))} at its thinnest, and {needs}."
            yield _too_thin(eye, says, body.thinnest_mm, least, better)


def _leave_to_lab(better: float | None) -> str:
    return "Leave it to the lab." if better is None else f"Order {words.mm(better)}, or leave it to the lab."


def _too_thin(eye: EyeCase, says: str, found: float, least: float, better: float | None) -> Finding:
    order = () if better is None else (f"Order {words.mm(better)}.",)
    return Finding(
        says,
        "Order that, or leave it to the lab." if better == least else _leave_to_lab(better),
        eye.eye,
        found,
        least,
        "mm",
        (*order, "Leave the thickness to the lab."),
        eye.at("lenses.centre_thickness_mm"),
    )


def _least_centre(case: Case, eye: EyeCase) -> tuple[float | None, str]:
    """The least centre in mm of this lens, and what needs it: the material, or a child where that wants more."""
    least, name = (eye.material.min_centre_mm, eye.material.name) if eye.material else (None, "it")
    young = case.age is not None and case.age < case.limit("centre-minimum", "child_below_years")
    for_child = case.limit("centre-minimum", "child_least_mm")
    if young and (least is None or above(for_child, least)):
        return for_child, "a child's lens"
    return least, name


def _far_too_thick(case: Case, eye: EyeCase) -> Iterator[Finding]:
    ordered, material = eye.lens.centre_thickness_mm if eye.lens else None, eye.material
    needed = None if ordered is None else eye.figures.body
    if ordered is None or material is None or needed is None:
        return
    most = needed.centre_thickness_mm + case.limit("centre-minimum", "beyond_needed_mm")
    if not above(ordered, most):
        return
    tenth = ordered / TEN
    guess = f"{words.mm(tenth)}? " if at_least(tenth, material.min_centre_mm or tenth) else ""
    yield Finding(
        f"A centre thickness of {words.mm(ordered)} is ordered for the {eye.eye} lens; "
        f"{words.mm(round(needed.centre_thickness_mm, 1))} is enough for it.",
        f"{guess}Correct it, or leave it to the lab.",
        eye.eye,
        ordered,
        most,
        "mm",
        ("Correct the thickness.", "Leave the thickness to the lab."),
        eye.at("lenses.centre_thickness_mm"),
        "ask",
    )


@rule(
    id="base-curve-for-power",
    number=77,
    level="ask",
    title="An ordered base curve that the power can have",
    why="A curve far from the usual one for a power is mistyped, or makes a lens that distorts and hardly mounts.",
)
def base_curve_for_power(case: Case) -> Iterator[Finding]:
    most, follows = (case.limit("base-curve-for-power", name) for name in ("apart_d", "follows_frame_d"))
    frame_curve = case.order.frame.front_curve_d
    for eye in case.eyes:
        ordered, usual = eye.lens.base_curve_d if eye.lens else None, eye.figures.usual_base_curve
        if ordered is None or usual is None or not above(abs(ordered - usual.curve_d), most):
            continue
        if frame_curve is not None and not above(abs(ordered - frame_curve), follows):
            continue
        whose = "as a rule" if usual.by == "vogel" else "in the catalogue"
        mean = eye.made_power.mean_sphere
        yield Finding(
            f"A base curve of {words.dioptres(ordered)} is ordered for the {eye.eye} lens; for a mean sphere of "
            f"{words.power(mean) if mean is not None else 'this power'} it is {words.dioptres(usual.curve_d)} {whose}.",
            "Correct it, or leave the curve to the lab.",
            eye.eye,
            ordered,
            usual.curve_d,
            "D",
            ("Correct the base curve.", "Leave it to the lab.", "Ask the lab whether it makes this power on it."),
            eye.at("lenses.base_curve_d"),
        )


@rule(
    id="plus-to-shape",
    number=71,
    level="ask",
    title="A plus lens is made for its shape",
    why="Made for an unknown shape, a plus lens is as thick as the whole blank needs; for its own it is thinner.",
)
def plus_to_shape(case: Case) -> Iterator[Finding]:
    frame, strong = case.order.frame, case.limit("plus-to-shape", "power_d")
    has_box = frame.a_mm is not None and frame.b_mm is not None and frame.ed_mm is not None
    if case.order.supply != "uncut" or frame.shape is not None or has_box:
        return
    for eye in case.eyes:
        plus = max(eye.made_power.meridians_d, default=0.0)
        if at_least(plus, strong):
            yield Finding(
                f"The {eye.eye} lens has {words.power(plus)} and comes uncut, and its shape is not known.",
                f"From {words.power(strong)} on send the trace, or A, B and ED, so that it can be made thinner.",
                eye.eye,
                plus,
                strong,
                "D",
                ("Send the traced shape.", "Give A, B and ED."),
                "frame.shape",
            )
