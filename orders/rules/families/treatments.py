"""Do coatings and tints go with each other, the material and the fellow lens, and is the tint fully described?"""

from __future__ import annotations

import re
from collections.abc import Iterator

from dispensing.trade.light import (
    MOST_PERCENT,
    SEEN_THROUGH,
    colours_named,
    impossible_depth,
    percent_left_by,
    transmittance_percent,
)
from orders.documents.lens_catalogue import Treatment
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least, at_most, below
from orders.rules.families.driving import LOCAL, light_let_through
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("treatments").rule

TRANSMITTANCE = "transmittance_percent"
SUN_BASE = frozenset({"tint", "photochromic", "polarised"})


def _of_kind(eye: EyeCase, *kinds: str) -> list[Treatment]:
    return [treatment for treatment in eye.treatments if treatment.kind in kinds]


@rule(
    id="treatments-together",
    number=97,
    level=("stop", "ask"),
    title="Treatments that the lab makes together",
    why="What excludes each other cannot be made, and the job comes back as a query.",
)
def treatments_together(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        ordered = eye.treatments
        for position, first in enumerate(ordered):
            for second in ordered[position + 1 :]:
                if second.id in first.excludes or first.id in second.excludes:
                    yield Finding(
                        f"{first.name} and {second.name} ({eye.eye} lens) are not made together.",
                        "Choose one.",
                        eye.eye,
                        f"{first.name} with {second.name}",
                        "one of the two",
                        None,
                        (f"Leave out {first.name}.", f"Leave out {second.name}."),
                        eye.at("lenses.treatments"),
                    )
        yield from _dark_on_dark(case, eye)


def _dark_on_dark(case: Case, eye: EyeCase) -> Iterator[Finding]:
    """A photochromic lens with a fixed tint as well: outdoors the two multiply, and indoors the tint stays."""
    photochromic, fixed = _of_kind(eye, "photochromic"), light_let_through(eye)
    darkened, least = case.limit("treatments-together", "darkened_percent"), case.limit("category-four", TRANSMITTANCE)
    if not photochromic or fixed is None:
        return
    outdoors = darkened * fixed / MOST_PERCENT
    if at_most(outdoors, least):
        yield Finding(
            f"The {eye.eye} lens has {photochromic[0].name} and a tint that lets {words.number(fixed)} % through; "
            f"in full sun about {words.number(round(outdoors, 1))} % is left, and indoors the tint stays. Up to "
            f"{words.number(least)} % must not be worn to drive.",
            f"Choose one of the two. {LOCAL}",
            eye.eye,
            outdoors,
            least,
            "%",
            (f"Leave out {photochromic[0].name}.", "Leave out the fixed tint."),
            eye.at("lenses.treatments"),
            "ask",
        )


@rule(
    id="polarised-pair",
    number=98,
    level="ask",
    title="Polarised lenses in pairs",
    why="One polarised lens makes glare and screens look different to the two eyes.",
)
def polarised_pair(case: Case) -> Iterator[Finding]:
    polarised = [bool(_of_kind(eye, "polarised")) for eye in case.eyes]
    if not any(polarised) or (case.is_pair and all(polarised)):
        return
    if not case.is_pair and _kept_is(case, "polarised"):
        return
    eye = case.eyes[polarised.index(True)]
    yield Finding(
        f"Only the {eye.eye} lens is polarised.",
        "Order both so, or neither; confirm if it is meant.",
        eye.eye,
        "one polarised lens",
        "both or neither",
        None,
        ("Order both lenses polarised.", "Leave the polarised treatment out."),
        eye.at("lenses.treatments"),
    )


def _kept_is(case: Case, *kinds: str) -> bool:
    """Whether the kept lens is known to have a treatment of these kinds."""
    kept = case.order.kept_lens
    found = (case.catalogue.treatment(id) for id in (kept.treatments or ()) if kept) if kept else ()
    return any(treatment is not None and treatment.kind in kinds for treatment in found)


@rule(
    id="sun-lens-reflections",
    number=99,
    level="note",
    title="Sun lenses with anti-reflection on the back",
    why="Behind a dark lens the wearer sees reflections of what is behind him.",
)
def sun_lens_reflections(case: Case) -> Iterator[Finding]:
    most = case.limit("sun-lens-reflections", "transmittance_percent")
    for eye in case.eyes:
        light = light_let_through(eye)
        if light is None or not at_most(light, most) or _of_kind(eye, "antireflection"):
            continue
        offered = _offered(eye, "antireflection")
        if offered:
            yield Finding(
                f"The {eye.eye} lens lets {words.number(light)} % of the light through and has no anti-reflection.",
                f"{words.listed(offered, 'or')} on the back takes away reflections of what is behind the wearer.",
                eye.eye,
                light,
                most,
                "%",
                (f"Add {words.listed(offered, 'or')}.",),
                eye.at("lenses.treatments"),
            )


def _offered(eye: EyeCase, kind: str) -> list[str]:
    """The names of the treatments of a kind that this material takes and that nothing ordered excludes."""
    ordered, material = eye.treatments, eye.lens.material if eye.lens else None
    return [
        treatment.name
        for treatment in eye.case.catalogue.treatments
        if treatment.kind == kind
        and (not treatment.materials or material in treatment.materials)
        and not any(t.id in treatment.excludes or treatment.id in t.excludes for t in ordered)
    ]


@rule(
    id="reflections-of-high-index",
    number=100,
    level="ask",
    title="Anti-reflection on a high index",
    why="The higher the index, the more a lens reflects: at 1.67 uncoated about 6 % a surface.",
)
def reflections_of_high_index(case: Case) -> Iterator[Finding]:
    least = case.limit("reflections-of-high-index", "index")
    for eye in case.eyes:
        material = eye.material
        if material is None or not at_least(material.index, least) or _of_kind(eye, "antireflection"):
            continue
        offered = _offered(eye, "antireflection")
        if offered:
            yield Finding(
                f"{material.name} ({eye.eye} lens) is ordered without anti-reflection; from index "
                f"{words.number(least)} on reflections disturb.",
                f"Add {words.listed(offered, 'or')}, or confirm.",
                eye.eye,
                material.index,
                least,
                None,
                (f"Add {words.listed(offered, 'or')}.", "Confirm that the wearer does without."),
                eye.at("lenses.treatments"),
            )


@rule(
    id="tint-pair",
    number=102,
    level="stop",
    title="Tinted lenses in pairs, in one material",
    why="One new tinted or photochromic lens never matches the old one, nor do two materials take a tint alike.",
)
def tint_pair(case: Case) -> Iterator[Finding]:
    tinted = [eye for eye in case.eyes if _of_kind(eye, "tint", "photochromic")]
    if not tinted:
        return
    eye, name = tinted[0], _of_kind(tinted[0], "tint", "photochromic")[0].name
    if not case.is_pair:
        found, limit = "one lens", "a pair"
        text = f"{name} is ordered on the {eye.eye} lens alone; it will not match the lens that stays."
        advice = "Order both."
    elif _material_of(case.right) != _material_of(case.left):
        found, limit = "two materials", "one material"
        text = f"{name} is ordered on two materials, which do not take it alike."
        advice = "Order both lenses in one material."
    else:
        return
    yield Finding(
        text,
        advice,
        case.pair_or_eye,
        found,
        limit,
        None,
        ("Order both lenses in one material.", "Send a sample, and have the lab confirm the match."),
        eye.at("lenses.treatments"),
    )


def _material_of(eye: EyeCase) -> str | None:
    return eye.lens.material if eye.lens else None


@rule(
    id="gradient-depth",
    number=103,
    level="ask",
    title="Room for a gradient tint",
    why="In a shallow lens a gradient has no room to run out.",
)
def gradient_depth(case: Case) -> Iterator[Finding]:
    b, least = case.order.frame.b_mm, case.limit("gradient-depth", "least_mm")
    if b is None or not below(b, least):
        return
    for eye in case.eyes:
        if eye.lens is not None and re.search(r"gradient|graduat|degrad", eye.lens.colour or "", re.IGNORECASE):
            yield Finding(
                f"A gradient tint is ordered for the {eye.name} in a lens {words.mm(b)} deep; it wants "
                f"{words.mm(least)}.",
                "Choose a solid tint or a deeper frame, or confirm.",
                eye.eye,
                b,
                least,
                "mm",
                ("Choose a solid tint.", "Choose a deeper frame."),
                eye.at("lenses.colour"),
            )


@rule(
    id="tint-stated",
    number=104,
    level=("stop", "ask"),
    title="A tint is fully stated, and stated once",
    why="“Brown” is not an order: an unspecified tint is 5.3 % of what labs call back about. Nor is one stated twice.",
)
def tint_stated(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        colour = (eye.lens.colour or "").strip() if eye.lens else ""
        impossible = impossible_depth(colour)
        if impossible is not None:
            yield _no_such_depth(eye, colour, impossible)
            continue
        for tint in _of_kind(eye, "tint"):
            # The catalogue may give a tint's depth; a tint made to order must have it in words.
            has_depth = tint.luminous_transmittance is not None or bool(re.search(r"\d", colour))
            # “Brown 85 %” from the lab's own list gives its colour in its name.
            has_colour = bool(colour) or bool(colours_named(tint.name))
            missing = [name for name, there in (("colour", has_colour), ("depth", has_depth)) if not there]
            if missing:
                yield _tint_missing(eye, tint, colour, words.listed(missing))
        yield from _told_apart(case, eye, colour)


def _tint_missing(eye: EyeCase, tint: Treatment, colour: str, missing: str) -> Finding:
    return Finding(
        f"{tint.name} is ordered for the {eye.eye} lens and its {missing} is not stated.",
        "Give colour, depth in per cent, solid or gradient, and a sample if there is one.",
        eye.eye,
        colour or None,
        missing,
        None,
        ("State colour, depth, solid or gradient.", "Send a sample."),
        eye.at("lenses.colour"),
    )


def _no_such_depth(eye: EyeCase, colour: str, depth: float) -> Finding:
    """A digit too many: each figure that is left when one is taken out again is offered."""
    digits = f"{depth:.0f}"
    guesses = sorted({int(digits[:at] + digits[at + 1 :]) for at in range(len(digits))} - {0, int(MOST_PERCENT)})
    return Finding(
        f"The tint of the {eye.eye} lens is written as “{colour}”; no tint takes away more than all the light, "
        f"{words.number(MOST_PERCENT)} %.",
        f"Correct the depth: {words.listed(map(str, guesses), 'or')} %?",
        eye.eye,
        depth,
        MOST_PERCENT,
        "%",
        ("Correct the depth of the tint.",),
        eye.at("lenses.colour"),
    )


def _told_apart(case: Case, eye: EyeCase, colour: str) -> Iterator[Finding]:
    """Two different tints, one in words and one from the lab's list: which is to be made?"""
    bases = _of_kind(eye, *SEEN_THROUGH)
    in_words, listed = percent_left_by(colour), transmittance_percent(base.luminous_transmittance for base in bases)
    named, wanted = colours_named(" ".join(base.name for base in bases)), colours_named(colour)
    depths = (
        in_words is not None
        and listed is not None
        and above(abs(in_words - listed), case.limit("tint-stated", "apart_percent"))
    )
    if bases and (depths or (named and wanted and not named & wanted)):
        tint = words.listed(base.name for base in bases)
        yield Finding(
            f"The tint of the {eye.eye} lens is “{colour}” in words and {tint} in the list: these are two tints.",
            "Say which is meant, and take the other away: whether it is too dark to drive was judged by the list.",
            eye.eye,
            colour,
            tint,
            None,
            (f"Take “{colour}” away.", f"Leave out {tint}."),
            eye.at("lenses.colour"),
            "ask",
        )


@rule(
    id="coating-base",
    number=105,
    level="stop",
    title="A coating has what it needs beneath it",
    why="Soft impact-resistant plastic scratches without a hard coat; a mirror needs a sun lens behind it.",
)
def coating_base(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        if _of_kind(eye, "mirror") and not _of_kind(eye, *SUN_BASE):
            mirror = _of_kind(eye, "mirror")[0].name
            yield _needs(eye, mirror, "a tint, polarised or photochromic base", "Add a tint or polarised base.")
        material = eye.material
        if material is None or material.impact_resistant is not True or _of_kind(eye, "hard", "antireflection"):
            continue
        offered = _offered(eye, "hard") or _offered(eye, "antireflection")
        if offered:
            yield _needs(eye, material.name, "a hard coat", f"Add {words.listed(offered, 'or')}.")


def _needs(eye: EyeCase, name: str, what: str, remedy: str) -> Finding:
    text = f"{name} ({eye.eye} lens) needs {what}, and none is ordered."
    return Finding(text, remedy, eye.eye, "none", what, None, (remedy,), eye.at("lenses.treatments"))
