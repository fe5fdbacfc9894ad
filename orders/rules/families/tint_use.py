"""Does the tint suit what a remark says it is worn for: flying, under a dark visor, driving at night?"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.trade.light import colours_named
from orders.rules.case import Case, EyeCase
from orders.rules.compare import below
from orders.rules.families.driving import LOCAL, light_let_through
from orders.rules.finding import Finding
from orders.rules.registry import Family
from orders.rules.words import number

rule = Family("driving").rule

FIXED = ("tint", "polarised")
YELLOW = frozenset({"yellow", "amber"})
TINTED = (*FIXED, "photochromic", "mirror")


@rule(
    id="tint-for-its-use",
    number=98,
    level="ask",
    title="A tint that suits what it is worn for",
    why="Polarised lenses black out cockpit displays; a dark visor and a tint multiply; at night a tint takes light.",
)
def tint_for_its_use(case: Case) -> Iterator[Finding]:
    remarks = case.remarks
    polarised, tinted, fixed = (_first(case, *kinds) for kinds in (("polarised",), TINTED, FIXED))
    if remarks.flies and polarised:
        yield _unsuited(
            polarised,
            f"is for somebody who flies, say the remarks (“{remarks.flies}”): polarised lenses can black out cockpit "
            "displays and show stripes in the windscreen",
            "Offer a plain grey tint, as aviation authorities advise; their rules and the practitioner decide.",
            "a tint that is not polarised",
        )
    if remarks.dark_visor and tinted:
        yield _unsuited(
            tinted,
            f"is worn under a visor that is dark as well, say the remarks (“{remarks.dark_visor}”): the two multiply, "
            "and together they may be too dark for the road even by day",
            f"Offer clear lenses under the dark visor, or a clear visor over the tint. {LOCAL}",
            "clear lenses under a dark visor",
        )
    if remarks.drives_by_night and fixed:
        yield _by_night(case, fixed)


def _first(case: Case, *kinds: str) -> tuple[EyeCase, str] | None:
    """The first eye with a treatment of these kinds, and the treatment's name."""
    found = ((eye, part.name) for eye in case.eyes for part in eye.treatments if part.kind in kinds)
    return next(found, None)


def _by_night(case: Case, tinted: tuple[EyeCase, str]) -> Finding:
    """Below the standard's limit for the night it must not be worn; above it a tint is of no use there either."""
    light, least = light_let_through(tinted[0]), case.limit("night-driving", "transmittance_percent")
    said = f"is for driving at night, say the remarks (“{case.remarks.drives_by_night}”)"
    if light is not None and below(light, least):
        fault = f"lets {number(light)} % of the light through; below {number(least)} % it must not be worn then"
    else:
        fault = "takes light away when there is least of it"
        if colours_named(tinted[1]) & YELLOW:
            fault += "; in a simulator yellow lenses showed drivers nothing sooner than clear ones"
    advice = f"Offer clear lenses with anti-reflection for the night. {LOCAL}"
    return _unsuited(tinted, f"{said}, and {fault}", advice, "clear lenses for the night")


def _unsuited(tinted: tuple[EyeCase, str], why: str, advice: str, limit: str) -> Finding:
    eye, name = tinted
    return Finding(
        f"{name} ({eye.eye} lens) {why}.",
        advice,
        eye.case.pair_or_eye,
        name,
        limit,
        None,
        (f"Order {limit}.", "Confirm that it is meant for something else."),
        eye.at("lenses.treatments"),
    )
