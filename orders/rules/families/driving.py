"""May these lenses be worn for driving?"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.trade.light import transmittance_percent
from orders.documents.order_report import FindingEye
from orders.rules.case import Case, EyeCase
from orders.rules.compare import at_most, below
from orders.rules.finding import Finding
from orders.rules.registry import Family
from orders.rules.words import number

rule = Family("driving").rule


def light_let_through(eye: EyeCase) -> float | None:
    """Luminous transmittance of the treated lens in per cent, from all treatments and the tint in words."""
    colour = eye.lens.colour if eye.lens else None
    return transmittance_percent((treatment.luminous_transmittance for treatment in eye.treatments), colour)


def _dark_eyes(case: Case) -> list[tuple[EyeCase, float]]:
    known = ((eye, light_let_through(eye)) for eye in case.eyes)
    return [(eye, value) for eye, value in known if value is not None]


def _where(eye: EyeCase) -> str:
    """The key that says how dark the lens is: the tint's words, if nothing else does."""
    listed = any(treatment.luminous_transmittance is not None for treatment in eye.treatments)
    return eye.at("lenses.treatments" if listed else "lenses.colour")


def _joined(eyes: list[EyeCase]) -> FindingEye:
    return eyes[0].eye if len(eyes) == 1 else "both"


@rule(
    id="night-driving",
    number=93,
    level="ask",
    title="A tint that leaves enough light for the night",
    why="A lens that lets too little light through must not be worn to drive at dusk or night.",
)
def night_driving(case: Case) -> Iterator[Finding]:
    least = case.limit("night-driving", "transmittance_percent")
    dark = [(eye, value) for eye, value in _dark_eyes(case) if below(value, least)]
    if not (dark and case.is_driver and case.is_only_pair):
        return
    value = min(value for _, value in dark)
    yield Finding(
        f"The only pair of a driver lets {number(value)} % of the light through; below {number(least)} % it is "
        "not for driving at dusk or night.",
        "Advise a clear pair, and confirm that the wearer was told. Local rules and the licensed practitioner decide.",
        _joined([eye for eye, _ in dark]),
        value,
        least,
        "%",
        ("Order a clear pair as well.", "Choose a lighter tint.", "Confirm that the wearer was told."),
        _where(dark[0][0]),
    )


@rule(
    id="category-four",
    number=94,
    level="ask",
    title="Lenses too dark to drive at any time",
    why="Lenses of filter category 4 are not for road use and must be labelled so.",
)
def category_four(case: Case) -> Iterator[Finding]:
    most = case.limit("category-four", "transmittance_percent")
    dark = [(eye, value) for eye, value in _dark_eyes(case) if at_most(value, most)]
    yield from _driving_not_asked(case)
    if dark:
        value = min(value for _, value in dark)
        yield Finding(
            f"These lenses let {number(value)} % of the light through; up to {number(most)} % they are not for "
            f"driving.{_beyond_sunglasses(case, value)}",
            "Label them “not for driving” and tell the wearer. Local rules and the licensed practitioner decide.",
            _joined([eye for eye, _ in dark]),
            value,
            most,
            "%",
            ("Label them “not for driving”.", "Choose a lighter tint."),
            _where(dark[0][0]),
        )


def _beyond_sunglasses(case: Case, value: float) -> str:
    least = case.limit("category-four", "sunglass_percent")
    if not below(value, least):
        return ""
    return (
        f" Below {number(least)} % they are darker than any category of tinted prescription lenses (ISO 8980-3) or "
        "sunglasses (ISO 12312-1): ask who wants them and why."
    )


def _driving_not_asked(case: Case) -> Iterator[Finding]:
    """Not having asked is not the same as “does not drive”."""
    least = case.limit("night-driving", "transmittance_percent")
    dark = [(eye, value) for eye, value in _dark_eyes(case) if below(value, least)]
    if dark and case.order.patient.driver is None:
        value = min(value for _, value in dark)
        yield Finding(
            f"These lenses let {number(value)} % of the light through, and nobody asked whether the wearer drives; "
            f"below {number(least)} % they are not for driving at dusk or night.",
            "Ask whether the wearer drives, and when. Local rules and the licensed practitioner decide.",
            _joined([eye for eye, _ in dark]),
            value,
            least,
            "%",
            ("Ask, and record the answer.", "Choose a lighter tint."),
            "patient.driver",
        )


@rule(
    id="photochromic-driving",
    number=96,
    level="ask",
    title="Photochromic lenses hardly darken in a car",
    why="A windscreen keeps out the light they need: as the only sun pair they disappoint drivers.",
)
def photochromic_driving(case: Case) -> Iterator[Finding]:
    eyes = [eye for eye in case.eyes if any(treatment.kind == "photochromic" for treatment in eye.treatments)]
    if eyes and case.is_driver and case.is_only_pair:
        yield Finding(
            "Photochromic lenses are the only pair of a driver; behind a windscreen they hardly darken.",
            "Offer sun lenses for driving, and confirm that the wearer was told.",
            _joined(eyes),
            "photochromic",
            "a sun pair for driving",
            None,
            ("Offer tinted or polarised lenses for driving.", "Confirm that the wearer was told."),
            eyes[0].at("lenses.treatments"),
        )
