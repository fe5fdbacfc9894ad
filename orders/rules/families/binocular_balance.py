"""Can the two eyes use the two lenses together? Vertical prism when reading, and image sizes."""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.optics.errors import OpticsError
from dispensing.optics.imbalance import proposed_slab_off
from dispensing.optics.magnification import MagnifyingLens, image_size_difference_percent
from dispensing.optics.surface import true_from_marked
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("binocular balance").rule

ID = "vertical-imbalance"


@rule(
    id=ID,
    number=86,
    level="ask",
    title="Little unequal vertical prism when reading",
    why="Most wearers adapt to a little unequal vertical prism, some to half as much; more may tire or double.",
)
def vertical_imbalance_rule(case: Case) -> Iterator[Finding]:
    found, most = case.vertical_imbalance_pd, case.limit(ID, "most_pd")
    apart = is_for_one_distance(case)
    # Through a pair for one distance the wearer looks near its centres: he turns his head.
    most = case.limit(ID, "one_distance_pd") if apart else most
    if case.is_one_eyed or found is None or not at_least(found, most):
        return
    slab = _slab(case) if at_least(found, case.limit(ID, "slab_pd")) and not apart else ()
    advice = slab[0] if slab else _without_slab_off(apart)
    yield Finding(
        f"Looking {words.mm(case.limit(ID, 'below_mm'))} below the centres the eyes meet {words.prism(found)} of "
        "unequal vertical prism. Wearers differ in what they adapt to, so it is asked about from "
        f"{words.prism(most)} on.",
        advice,
        "both",
        found,
        most,
        "Δ",
        (*slab, "Order a pair for reading, centred for it.", "Consider contact lenses.", "Confirm if long worn so."),
        "prescription.right.sphere",
    )


def is_for_one_distance(case: Case) -> bool:
    """Whether both lenses are single vision and the pair is for one distance."""
    return all(eye.kind == "single_vision" for eye in case.eyes) and case.order.pair_use not in (
        None,
        "distance_and_near",
    )


def _without_slab_off(apart: bool) -> str:
    if apart:
        return "Ask whether the wearer bears it; lower centres help in a pair for reading."
    return "Consider a smaller or higher reading part, or a pair for reading."


def _slab(case: Case) -> tuple[str, ...]:
    if case.imbalance is None:
        return ()
    try:
        slabs = proposed_slab_off(case.imbalance, case.limit(ID, "shared_above_pd"))
    except OpticsError:
        return ()
    if not slabs:
        return ()
    parts = [f"{words.prism(round(slab.amount_pd, 1))} base {slab.base} on the {slab.eye} lens" for slab in slabs]
    return (f"Consider a slab-off of {words.listed(parts)}.",)


@rule(
    id="image-size",
    number=88,
    level="ask",
    title="Images of nearly the same size",
    why="Images of very different size are hard to fuse.",
)
def image_size(case: Case) -> Iterator[Finding]:
    right, left = case.right.made_power.mean_sphere, case.left.made_power.mean_sphere
    if case.is_one_eyed or right is None or left is None:
        return
    apart, percent = max(abs(right - left), abs(right - left + _adds_apart(case))), _size_difference(case)
    by_power = at_least(apart, case.limit("image-size", "difference_d"))
    by_size = percent is not None and above(percent, case.limit("image-size", "difference_percent"))
    if not (by_power or by_size):
        return
    size = "" if percent is None else f", which makes the images differ by about {percent:.1f} %"
    yield Finding(
        f"The mean spheres differ by {words.dioptres(apart)}{_where(case, right - left)}{size}.",
        "Match base curves and thickness, consider contact lenses, and confirm that the wearer can bear it.",
        "both",
        apart if by_power else percent,
        case.limit("image-size", "difference_d" if by_power else "difference_percent"),
        "D" if by_power else "%",
        ("Ask for matched base curves and thickness.", "Consider contact lenses.", "Confirm if long worn so."),
        "prescription.left.sphere",
    )


def _adds_apart(case: Case) -> float:
    """How much stronger the right add of two multifocals is, D."""
    right, left = case.right.power.add, case.left.power.add
    if right is None or left is None or not (case.right.is_multifocal and case.left.is_multifocal):
        return 0.0
    return right - left


def _where(case: Case, apart: float) -> str:
    return " in the reading parts, whose adds are not equal" if abs(apart + _adds_apart(case)) > abs(apart) else ""


def _size_difference(case: Case) -> float | None:
    """How much the image sizes differ because of lens shape and power, per cent; None if too little is known."""
    lenses = [_magnifying(eye) for eye in case.both]
    if lenses[0] is None or lenses[1] is None:
        return None
    try:
        return abs(image_size_difference_percent(lenses[0], lenses[1]))
    except OpticsError:
        return None


def _magnifying(eye: EyeCase) -> MagnifyingLens | None:
    body, curve, vertex = eye.figures.body_as_made, eye.figures.base_curve_d, eye.worn_vertex_mm
    if body is None or curve is None or vertex is None or eye.material is None:
        return None
    front, mean = true_from_marked(curve, eye.material.index), body.power.mean_sphere
    return MagnifyingLens(mean, front, body.centre_thickness_mm, eye.material.index, vertex)
