"""Is the material suitable for its use: drilling, a blow, strong power, a child?"""

from __future__ import annotations

from collections.abc import Iterator

from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least
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
    years = case.limit("impact-need", "below_years")
    young = case.age is not None and case.age < years
    reason = f"is {case.age} years old" if young else _eyes_at_risk(case)
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


def _eyes_at_risk(case: Case) -> str | None:
    """What is known of the eyes that makes a broken lens worse, in words that follow “the wearer”."""
    if case.has_two_poor_eyes:
        return "sees little with both eyes"
    said = case.remarks.one_eyed
    if case.is_one_eyed:
        return f"has one good eye only, say the remarks (“{said}”)" if said else "has one good eye only"
    lazy = [(eye, case.remarks.lazy[eye.eye]) for eye in case.both if eye.eye in case.remarks.lazy]
    unknown = [(eye, told) for eye, told in lazy if eye.acuity.decimal is None]
    if unknown:
        eye, told = unknown[0]
        return f"may have one good eye only: the remarks say “{told}” of the {eye.name}, and no acuity is written"
    return None


@rule(
    id="low-abbe",
    number=74,
    level="ask",
    title="Strong power in a material that spreads colours little",
    why="The lower its Abbe number, the more a material shows coloured edges to the side of a strong lens.",
)
def low_abbe(case: Case) -> Iterator[Finding]:
    least = case.limit("low-abbe", "abbe")
    for eye in case.eyes:
        abbe = eye.material.abbe if eye.material else None
        reason = _dispersing(case, eye)
        if eye.material is not None and abbe is not None and abbe < least and reason:
            yield Finding(
                f"The {eye.eye} lens has {reason} in {eye.material.name}, whose Abbe number is {words.number(abbe)}: "
                f"coloured edges may show to the side. Below {words.number(least)} it is asked about.",
                "Offer another material, or confirm.",
                eye.eye,
                abbe,
                least,
                None,
                ("Offer a material with a higher Abbe number.", "Confirm that the wearer was told."),
                eye.at("lenses.material"),
            )


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
