"""Is the material suitable for its use: drilling, a blow, strong power, a child?"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import takewhile

from orders.rules import words
from orders.rules.at_risk import reason_for_impact_resistance
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least
from orders.rules.families.thickness import what_a_higher_index_saves
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("materials").rule


@rule(
    id="drill-material",
    number=69,
    level=("stop", "ask"),
    title="A material that can be drilled, and a wearer whom it suits",
    why="Notch-sensitive materials crack from the drill hole, and rimless lenses do not survive a school yard.",
)
def drill_material(case: Case) -> Iterator[Finding]:
    if case.order.frame.mount != "drilled":
        return
    yield from _drilled_for_a_child(case)
    for eye in case.eyes:
        if eye.material is not None and eye.material.drillable is False:
            yield Finding(
                f"The frame is drilled, and {eye.material.name} ({eye.eye} lens) cannot be drilled.",
                "Choose a material that can, or a rimmed frame.",
                eye.eye,
                eye.material.name,
                "a material that can be drilled",
                None,
                (*_that_can(eye, drillable=True), "Choose a full-rim or grooved frame."),
                eye.at("lenses.material"),
            )


def _drilled_for_a_child(case: Case) -> Iterator[Finding]:
    years = case.limit("drill-material", "child_below_years")
    if case.age is not None and case.age < years:
        yield Finding(
            f"A drilled rimless mount is ordered for a child of {case.age}: it breaks easily, and leaves the edges of "
            "the lenses bare before the face.",
            "Offer a full rim. Local rules and the licensed practitioner decide.",
            None,
            float(case.age),
            years,
            "years",
            ("Choose a full-rim frame.", "Confirm that the parents were told."),
            "frame.mount",
            "ask",
        )


def _that_can(eye: EyeCase, *, drillable: bool = False, impact: bool = False) -> tuple[str, ...]:
    """The design's materials that would do, as a remedy; empty if there are none."""
    offered = eye.design.materials if eye.design else ()
    listed = [material for material in eye.case.catalogue.materials if not offered or material.id in offered]
    fit = [
        material.name
        for material in listed
        if (material.drillable or not drillable) and (material.impact_resistant or not impact)
    ]
    return (f"Choose {words.listed(fit, 'or')}.",) if fit else ()


@rule(
    id="impact-need",
    number=72,
    level="ask",
    title="An impact-resistant material where an eye is at risk",
    why="Children and people with one good eye lose most from a broken lens: recommend it, record a refusal.",
)
def impact_need(case: Case) -> Iterator[Finding]:
    reason = reason_for_impact_resistance(case)
    if reason is None:
        return
    for eye in case.eyes:
        if eye.material is not None and eye.material.impact_resistant is False:
            yield Finding(
                f"The wearer {reason}, and {eye.material.name} ({eye.eye} lens) is not impact-resistant.",
                "Recommend a material that is; if it is refused, record the refusal. Local rules and the licensed "
                "practitioner decide.",
                eye.eye,
                eye.material.name,
                "an impact-resistant material",
                None,
                (*_that_can(eye, impact=True), "Confirm that it was recommended and refused."),
                eye.at("lenses.material"),
            )


@rule(
    id="low-abbe",
    number=74,
    level="ask",
    title="Strong power in a material that spreads colours little",
    why="A low Abbe number shows coloured edges to the side of a strong lens; asked where something else would do.",
)
def low_abbe(case: Case) -> Iterator[Finding]:
    least = case.limit("low-abbe", "abbe")
    for eye in case.eyes:
        abbe = eye.material.abbe if eye.material else None
        reason = _dispersing(case, eye)
        if eye.material is None or abbe is None or abbe >= least or not reason:
            continue
        better = _with_better_abbe(case, eye)
        if better:
            yield Finding(
                f"The {eye.eye} lens has {reason} in {eye.material.name}, whose Abbe number is {words.number(abbe)}: "
                f"coloured edges may show to the side. Below {words.number(least)} it is asked about.",
                f"Offer {words.listed(better, 'or')}, or confirm.",
                eye.eye,
                abbe,
                least,
                None,
                (f"Offer {words.listed(better, 'or')}.", "Confirm that the wearer was told."),
                eye.at("lenses.material"),
            )


def _with_better_abbe(case: Case, eye: EyeCase) -> list[str]:
    """Materials on offer that disperse less and of which the index question would not be asked in turn."""
    least, at_risk = case.limit("low-abbe", "abbe"), reason_for_impact_resistance(case) is not None
    candidates = [
        one
        for one in eye.materials_on_offer
        if one.abbe is not None and one.abbe >= least and not (at_risk and one.impact_resistant is False)
    ]
    # A lower index is thicker still: below the first that will not do, none is worked out. For somebody at risk each
    # is compared with other materials.
    falling = sorted(candidates, key=lambda one: -one.index)
    thin = candidates if at_risk else takewhile(lambda one: what_a_higher_index_saves(case, eye, one) == "", falling)
    good = {one.id for one in thin if what_a_higher_index_saves(case, eye, one) == ""}
    return [one.name for one in candidates if one.id in good]


def _dispersing(case: Case, eye: EyeCase) -> str | None:
    """What would cause colour fringes, in words: strong power or prism."""
    strongest = eye.made_power.strongest_d
    if strongest is not None and above(strongest, case.limit("low-abbe", "power_d")):
        return words.dioptres(strongest)
    size = eye.made_power.prism_pd
    return f"{words.prism(size)} of prism" if above(size, case.limit("low-abbe", "prism_pd")) else None


@rule(
    id="glass",
    number=84,
    level="stop",
    title="No glass where it may break or hurt",
    why="Glass splinters, and it cannot be drilled to last.",
)
def glass(case: Case) -> Iterator[Finding]:
    density = case.limit("glass", "density_g_cm3")
    child = case.age is not None and case.age < case.limit("glass", "below_years")
    drilled = case.order.frame.mount == "drilled"
    if not (child or drilled):
        return
    for eye in case.eyes:
        material = eye.material
        if material is not None and material.density_g_cm3 is not None and at_least(material.density_g_cm3, density):
            use = "for a child" if child else "in a drilled mount"
            yield Finding(
                f"{material.name} ({eye.eye} lens) is glass, {use}.",
                "Choose a plastic material.",
                eye.eye,
                material.name,
                "a plastic material",
                None,
                (*_that_can(eye, impact=True), "Choose a plastic material."),
                eye.at("lenses.material"),
            )
