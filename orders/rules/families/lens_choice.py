"""Does this kind of lens suit this person and prescription?"""

from __future__ import annotations

from collections.abc import Iterator

from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, below, same
from orders.rules.families.driving import LOCAL, NOT_ASKED, is_dark, pair_unless_another
from orders.rules.finding import Finding
from orders.rules.registry import Family
from orders.rules.to_be_made import CLOSE

rule = Family("lens choice").rule


@rule(
    id="office-lens",
    number=60,
    level=("stop", "ask"),
    title="Office and near lenses are not for driving; office lenses have their distance",
    why="An office lens blurs the distance: without a stated room and with no other pair it will be worn to drive.",
)
def office_lens(case: Case) -> Iterator[Finding]:
    eyes = [eye for eye in case.eyes if eye.kind == "office"]
    if not eyes:
        yield from _near_only(case)
        return
    if case.order.fitting.near_distance_mm is None:
        yield Finding(
            "An office lens is ordered and no working distance is given.",
            "Measure it at the wearer's place.",
            None,
            None,
            "a working distance",
            "mm",
            ("Give the working distance.",),
            "fitting.near_distance_mm",
        )
    pair = pair_unless_another(case)
    if pair is not None and not (pair == NOT_ASKED and is_dark(case)):
        yield _not_for_the_road("An office lens blurs the distance and is not for driving", pair)
    least = case.limit("office-lens", "least_height_mm")
    for eye in eyes:
        height = eye.fitted.height_mm
        if height is not None and below(height, least):
            yield Finding(
                f"The office lens of the {eye.name} sits {words.mm(height)} high; at least {words.mm(least)} is "
                "wanted.",
                "Measure again, or choose a deeper frame.",
                eye.eye,
                height,
                least,
                "mm",
                ("Measure the height again.", "Choose a deeper frame."),
                eye.at("fitting.height_mm"),
                "ask",
            )


def _near_only(case: Case) -> Iterator[Finding]:
    """Single vision for near or intermediate as a driver's only pair, or said to be for driving."""
    use, said, pair = case.order.pair_use, case.remarks.drives, pair_unless_another(case)
    if use not in CLOSE or not any(eye.kind == "single_vision" for eye in case.eyes):
        return
    if said is not None:
        pair = f"the remarks speak of driving (“{said}”)"
    if pair is not None and not (pair == NOT_ASKED and is_dark(case)):
        field = "prescription.use" if said is not None else "other_pair"
        yield _not_for_the_road(f"The road is a blur through single vision for {use}", pair, field)


def _not_for_the_road(what: str, pair: str, field: str = "other_pair") -> Finding:
    return Finding(
        f"{what}, and {pair}.",
        f"Ask what is worn to drive, and see to a pair for the distance. {LOCAL}",
        None,
        "the only pair" if pair.startswith("it is") else "not asked",
        "another pair to drive with",
        None,
        ("Order a pair for the distance as well.", "Confirm that there is another pair to drive with."),
        field,
        "ask",
    )


@rule(
    id="prism-in-progressive",
    number=91,
    level="ask",
    title="Prism in a progressive lens",
    why="The prism is read at the prism reference point and the power above it; not every design takes it well.",
)
def prism_in_progressive(case: Case) -> Iterator[Finding]:
    """One question for both eyes, and none about a prism that was worn with an add before."""
    eyes = [eye for eye in case.eyes if eye.kind == "progressive" and eye.made_power.prism_pd and not _had_it(eye)]
    if not eyes:
        return
    sizes = words.listed(dict.fromkeys(words.prism(eye.made_power.prism_pd) for eye in eyes))
    whose = f"lens of the {eyes[0].name} has" if len(eyes) == 1 else "lenses of both eyes have"
    yield Finding(
        f"The progressive {whose} {sizes} of prism.",
        "Confirm that it is meant, and ask the lab where the power is to be read.",
        eyes[0].eye if len(eyes) == 1 else "both",
        max(eye.made_power.prism_pd for eye in eyes),
        0.0,
        "Δ",
        ("Confirm the prism.", "Ask the lab for its distances between the reading points."),
        eyes[0].at("prescription.prism"),
    )


def _had_it(eye: EyeCase) -> bool:
    """Whether the last prescription, or the pair worn now, had an add and the same prism."""
    before, now = eye.earlier_power, eye.made_power.prism
    if before is None or before.add is None or before.prism is None or now is None:
        return False
    return same(before.prism.in_pd, now.in_pd) and same(before.prism.up_pd, now.up_pd)


@rule(
    id="inset-for-power",
    number=92,
    level="ask",
    title="The reading zone is inset for the power",
    why="Strong lenses move the near point by prism; a fixed inset then misses it, most with uneven eyes.",
)
def inset_for_power(case: Case) -> Iterator[Finding]:
    strong, most = case.limit("inset-for-power", "power_d"), case.limit("inset-for-power", "uneven_mm")
    fixed = [eye for eye in case.eyes if _has_fixed_inset(eye)]
    for eye in fixed:
        power = eye.made_power.strongest_d
        if power is not None and above(power, strong):
            yield _inset(eye, f"has {words.dioptres(power)}", power, strong, "D")
    insets = [_measured_inset(eye) for eye in case.both]
    if fixed and insets[0] is not None and insets[1] is not None and above(abs(insets[0] - insets[1]), most):
        apart = abs(insets[0] - insets[1])
        yield _inset(fixed[0], f"belongs to eyes whose near insets differ by {words.mm(apart)}", apart, most, "mm")


def _has_fixed_inset(eye: EyeCase) -> bool:
    design = eye.design
    return eye.kind == "progressive" and design is not None and bool(design.near_inset_mm) and not design.compensated


def _measured_inset(eye: EyeCase) -> float | None:
    far, near = eye.fitted.pd_mm, eye.fitted.near_pd_mm
    return None if far is None or near is None else far - near


def _inset(eye: EyeCase, what: str, found: float, limit: float, unit: str) -> Finding:
    return Finding(
        f"The progressive lens of the {eye.name} {what}, and its reading zone has a fixed inset.",
        "Ask for a design with variable inset, or confirm.",
        eye.eye,
        found,
        limit,
        unit,
        ("Choose a design whose inset follows the power.",),
        eye.at("lenses.design"),
    )
