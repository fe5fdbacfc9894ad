"""What a row means at the dispensing table, in plain words with the figure beside it. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dispensing.optics.chromatic import transverse_chromatic_aberration_at
from dispensing.optics.errors import OpticsError
from dispensing.optics.lens_body import LensBody
from dispensing.optics.reflection import lens_reflection
from dispensing.trade import figure
from dispensing.trade.light import shares_stated, transmittance_percent
from orders.documents.lens_order import Eye
from orders.options.lenses.comparison import LensRow
from orders.options.lenses.judged_row import JudgedRow
from orders.rules import words
from orders.rules.bodies import body_of
from orders.rules.case import Case, EyeCase
from orders.rules.dates import working_days_later, written
from orders.rules.families.handling import norm_days
from orders.rules.thickest import Thickest, thickest_of

CHANGES_LIGHT = frozenset({"antireflection", "tint", "photochromic", "polarised", "mirror"})
"""Kinds of treatment with which a lens lets through more or less light than without them."""
NOT_STATED = "the catalogue does not say how much light it lets through"


@dataclass(frozen=True)
class Meaning:
    """Sentences without a full stop; empty where nothing is known. promise: the earliest day that is usual."""

    thickest: str
    fringe: str
    reflection: str
    protection: str
    light: str
    promise: date | None


def meaning(row: LensRow) -> Meaning:
    place = thickest(row)
    return Meaning(
        thickest=f"up to {words.mm(round(place.mm, 1))} {place.where} ({place.eye} lens)" if place else "",
        fringe=_fringe_words(row),
        reflection=_reflection(row),
        protection=protection(row),
        light=_light(row),
        promise=earliest_promise(row.case),
    )


def bodies_of(row: JudgedRow) -> dict[Eye, LensBody]:
    """The edged lenses with all their corners, worked out one by one; lenses whose bodies are not known are missing."""
    found: dict[Eye, LensBody] = {}
    for eye in row.case.eyes:
        placed, substance = eye.figures.placed, eye.figures.substance_of(eye.material)
        if eye.figures.body_as_made is not None and placed is not None and substance is not None:
            found[eye.eye] = body_of(placed, substance, eye.lens.centre_thickness_mm if eye.lens else None)
    return found


def thickest(row: JudgedRow) -> Thickest | None:
    """The thickest place of the pair; None unless the bodies of all its lenses are known."""
    bodies = bodies_of(row)
    if len(bodies) < len(row.case.eyes):
        return None
    return max((thickest_of(body, eye) for eye, body in bodies.items()), key=lambda one: one.mm, default=None)


def fringe_pd(eye: EyeCase) -> float | None:
    """The colour fringe in Δ to the side of the lens's centre, the worse of the two sides; None if not known."""
    power, abbe = eye.made_power.optical, eye.material.abbe if eye.material else None
    if power is None or abbe is None:
        return None
    aside = figure("colour-fringe", "to_the_side_mm")
    try:
        sides = (transverse_chromatic_aberration_at(power, place, 0.0, eye.eye, abbe) for place in (-aside, aside))
        return max(sides)
    except OpticsError:
        return None


def worst_fringe(case: Case) -> float | None:
    """The greater fringe of the pair in Δ; None unless it is known of every lens."""
    fringes = [fringe_pd(eye) for eye in case.eyes]
    known = [fringe for fringe in fringes if fringe is not None]
    return max(known) if known and len(known) == len(fringes) else None


def _fringe_words(row: LensRow) -> str:
    worst = worst_fringe(row.case)
    if worst is None:
        return ""
    seen = "may be seen" if is_noticed(worst) else "will hardly be seen"
    aside = words.mm(figure("colour-fringe", "to_the_side_mm"))
    return f"a colour fringe {seen} to the side ({words.prism(worst)} at {aside} from the middle)"


def is_noticed(fringe: float) -> bool:
    """Whether a colour fringe of so many Δ is noticed."""
    return fringe >= figure("colour-fringe", "noticed_pd")


def _reflection(row: LensRow) -> str:
    coated = any(treatment.kind == "antireflection" for eye in row.case.eyes[:1] for treatment in eye.treatments)
    try:
        share = lens_reflection(row.offer.material.index)
    except OpticsError:
        return ""
    percent = f"{words.number(round(share * 100.0))} %"
    return (
        f"with anti-reflection; uncoated it would reflect {percent} of the light"
        if coated
        else f"reflects {percent} of the light"
    )


def protection_words(row: LensRow) -> str:
    """Whether the material resists impact, also where that is not known."""
    return protection(row) or "the catalogue does not say whether it resists impact"


def protection(row: LensRow) -> str:
    """``impact-resistant``, its opposite, or empty if the catalogue does not say."""
    resists = row.offer.material.impact_resistant
    if resists is None:
        return ""
    return "impact-resistant" if resists else "not impact-resistant"


def _light(row: LensRow) -> str:
    """How much light comes through: as the lens or its treatments state it, or as a clear lens without a coating
    leaves after its own reflection. What is not known is said to be so.
    """
    eye = row.case.eyes[0]
    stated = [(treatment.kind, treatment.luminous_transmittance) for treatment in eye.treatments]
    colour = eye.lens.colour if eye.lens else None
    percent = transmittance_percent(shares_stated(stated, colour))
    if percent is not None:
        return f"lets {words.number(round(percent))} % of the light through"
    if colour or any(kind in CHANGES_LIGHT for kind, _ in stated):
        return NOT_STATED
    try:
        left = 1.0 - lens_reflection(row.offer.material.index)
    except OpticsError:
        return NOT_STATED
    return f"clear: lets {words.number(round(left * 100.0))} % of the light through"


def promise_words(case: Case) -> str:
    """``earliest on 9 December 2026, 7 working days after the order``; empty if the day of the order is not known."""
    day = earliest_promise(case)
    if day is None:
        return ""
    days, what = norm_days(case)
    return f"earliest usual day {written(day)}: {what} take {days:g} working day{'s' if days != 1 else ''}"


def earliest_promise(case: Case) -> date | None:
    """The first day that is usual for such lenses; None unless the day of the order is known."""
    ordered = case.order.ordered_on or case.today
    return None if ordered is None else working_days_later(ordered, norm_days(case)[0])
