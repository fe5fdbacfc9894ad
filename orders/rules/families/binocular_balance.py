"""Can the two eyes use the two lenses together? Vertical prism when reading, and image sizes."""

from __future__ import annotations

import math
from collections.abc import Iterator

from dispensing.optics.errors import OpticsError
from dispensing.optics.imbalance import proposed_slab_off, vertical_imbalance
from orders.rules import words
from orders.rules.case import Case
from orders.rules.compare import above, at_least, at_most
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
    if case.is_one_eyed or found is None or not at_least(found, most) or _is_long_worn(case, apart):
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


def _is_long_worn(case: Case, apart: bool) -> bool:
    """Whether the wearer had nearly as much before, on the same side, and looked through it as low."""
    before = [eye.earlier_power for eye in case.both]
    now = case.powers
    if now is None or before[0] is None or before[1] is None:
        return False
    right, left = before[0].optical, before[1].optical
    if right is None or left is None or not (apart or any(power and power.add for power in before)):
        return False
    try:
        then_pd, now_pd = (vertical_imbalance(*pair).signed_pd for pair in ((right, left), now))
    except OpticsError:
        return False
    more = abs(now_pd) - then_pd * math.copysign(1.0, now_pd)
    return at_most(more, case.limit(ID, "worn_within_pd"))


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
    apart = max(abs(right - left), abs(right - left + _adds_apart(case)))
    differ = case.image_sizes_differ_percent
    percent = None if differ is None else abs(differ)
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
