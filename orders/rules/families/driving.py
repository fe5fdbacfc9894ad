"""May these lenses be worn for driving?"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.trade.light import SEEN_THROUGH, colours_named, shares_stated, shifts_signals, transmittance_percent
from orders.documents.order_report import FindingEye, Level
from orders.rules.case import Case, EyeCase
from orders.rules.compare import at_least, at_most, below
from orders.rules.finding import Finding
from orders.rules.registry import Family
from orders.rules.words import listed, number

rule = Family("driving").rule

LOCAL = "Local rules and the licensed practitioner decide."


def light_let_through(eye: EyeCase) -> float | None:
    """Luminous transmittance of the treated lens in per cent, from all treatments and the tint in words."""
    colour = eye.lens.colour if eye.lens else None
    given = ((treatment.kind, treatment.luminous_transmittance) for treatment in eye.treatments)
    return transmittance_percent(shares_stated(given, colour))


def dark_eyes(case: Case) -> list[tuple[EyeCase, float]]:
    known = ((eye, light_let_through(eye)) for eye in case.eyes)
    return [(eye, value) for eye, value in known if value is not None]


def _where(eye: EyeCase) -> str:
    """The key that says how dark the lens is: the tint's words, if nothing else does."""
    listed = any(treatment.luminous_transmittance is not None for treatment in eye.treatments)
    return eye.at("lenses.treatments" if listed else "lenses.colour")


def _joined(eyes: list[EyeCase]) -> FindingEye:
    return eyes[0].eye if len(eyes) == 1 else "both"


def pair_unless_another(case: Case) -> str | None:
    """How a finding about a driver's only pair begins. If nobody asked for another pair, it says that instead."""
    if not case.is_driver or case.order.other_pair is True:
        return None
    return "it is the only pair of a driver" if case.is_only_pair else NOT_ASKED


NOT_ASKED = "nobody asked whether the wearer, who drives, has another pair to drive with"


def is_dark(case: Case) -> bool:
    """Whether a lens lets through too little light for the night."""
    least = case.limit("night-driving", "transmittance_percent")
    return any(below(value, least) for _, value in dark_eyes(case))


@rule(
    id="night-driving",
    number=93,
    level="ask",
    title="A tint that leaves enough light for the night",
    why="A lens that lets too little light through must not be worn to drive at dusk or night.",
)
def night_driving(case: Case) -> Iterator[Finding]:
    least = case.limit("night-driving", "transmittance_percent")
    dark = [(eye, value) for eye, value in dark_eyes(case) if below(value, least)]
    pair = pair_unless_another(case)
    if not dark or pair is None:
        return
    value = min(value for _, value in dark)
    yield Finding(
        f"This pair lets {number(value)} % of the light through, and {pair}; below {number(least)} % it must not be "
        "worn to drive at dusk or night.",
        f"{_ask_first(case)}dvise a clear pair as well, and confirm that the wearer was told. {LOCAL}",
        _joined([eye for eye, _ in dark]),
        value,
        least,
        "%",
        ("Order a clear pair as well.", "Choose a lighter tint.", "Confirm that the wearer was told."),
        _where(dark[0][0]) if case.is_only_pair else "other_pair",
    )


def _ask_first(case: Case) -> str:
    return "A" if case.is_only_pair else "Ask; if there is none, a"


@rule(
    id="category-four",
    number=94,
    level=("stop", "ask", "note"),
    title="Lenses too dark to drive at any time",
    why="Lenses of filter category 4 are not for road use and must be labelled so; a driver must not get them unasked.",
)
def category_four(case: Case) -> Iterator[Finding]:
    most = case.limit("category-four", "transmittance_percent")
    dark = [(eye, value) for eye, value in dark_eyes(case) if at_most(value, most)]
    if not dark:
        return
    value = min(value for _, value in dark)
    level, who, advice = _for_a_driver(case, value)
    yield Finding(
        f"These lenses let {number(value)} % of the light through{who}; up to {number(most)} % they must not be worn "
        f"to drive.{_beyond_sunglasses(case, value)}",
        f"{advice} {LOCAL}",
        _joined([eye for eye, _ in dark]),
        value,
        most,
        "%",
        ("Choose a lighter tint.", "Label them “not for driving”."),
        _where(dark[0][0]),
        level,
    )


def _for_a_driver(case: Case, value: float) -> tuple[Level, str, str]:
    """Level, words and advice: somebody who drives is stopped, somebody who does not is told."""
    label = "label them “not for driving” and tell the wearer."
    if case.is_driver:
        advice = f"Choose a lighter tint; if they are for something else than the road, {label}"
        return "stop", ", and the wearer drives", advice
    if case.order.patient.driver is None:
        return "ask", ", and nobody asked whether the wearer drives", f"Ask; if not, {label}"
    darker = below(value, case.limit("category-four", "sunglass_percent"))
    return "ask" if darker else "note", "", label.capitalize()


def _beyond_sunglasses(case: Case, value: float) -> str:
    least = case.limit("category-four", "sunglass_percent")
    if not below(value, least):
        return ""
    return (
        f" Below {number(least)} % they are darker than any category of tinted prescription lenses (ISO 8980-3) or "
        "sunglasses (ISO 12312-1): ask who wants them and why."
    )


@rule(
    id="traffic-signals",
    number=95,
    level="ask",
    title="Signal lights keep their colour",
    why="Standards exclude tints from driving that dim red, yellow, green or blue signals; a name gives no spectrum.",
)
def traffic_signals(case: Case) -> Iterator[Finding]:
    least = case.limit("traffic-signals", "transmittance_percent")
    tinted = [(eye, name) for eye in case.eyes if (name := _shifting_tint(eye, least)) is not None]
    if not tinted or not case.is_driver:
        return
    eyes = [eye for eye, _ in tinted]
    names = listed(dict.fromkeys(name for _, name in tinted))
    yield Finding(
        f"Tint {names} ({listed(eye.eye for eye in eyes)}) may change the colour and brightness of signal lights, and "
        "the wearer drives. A tint for the road must pass the limits for signal lights (ISO 8980-3, ISO 12312-1).",
        f"Ask the lab whether it does; if not, choose brown or grey, or label them “not for driving”. {LOCAL}",
        _joined(eyes),
        names,
        "a tint that passes for signal lights",
        None,
        ("Choose brown or grey.", "Have the lab confirm that the tint passes.", "Label them “not for driving”."),
        eyes[0].at("lenses.treatments" if _colour_of_treatments(eyes[0]) else "lenses.colour"),
    )


def _colour_of_treatments(eye: EyeCase) -> frozenset[str]:
    return frozenset().union(*(colours_named(part.name) for part in eye.treatments if part.kind in SEEN_THROUGH))


def _shifting_tint(eye: EyeCase, least: float) -> str | None:
    """What the tint is called, if its colour may change signal lights; None for one so light that it hardly can."""
    words = (eye.lens.colour or "").strip() if eye.lens else ""
    light = light_let_through(eye)
    if not shifts_signals(_colour_of_treatments(eye) | colours_named(words)):
        return None
    if light is not None and at_least(light, least):
        return None
    named = [part.name for part in eye.treatments if part.kind in SEEN_THROUGH and colours_named(part.name)]
    return named[0] if named else f"“{words}”"


@rule(
    id="photochromic-driving",
    number=96,
    level="ask",
    title="Photochromic lenses hardly darken in a car",
    why="A windscreen keeps out the light they need: as the only sun pair they disappoint drivers.",
)
def photochromic_driving(case: Case) -> Iterator[Finding]:
    eyes = [eye for eye in case.eyes if any(treatment.kind == "photochromic" for treatment in eye.treatments)]
    pair = pair_unless_another(case)
    # Of a dark pair another rule asks the same.
    if not eyes or pair is None or (pair == NOT_ASKED and is_dark(case)):
        return
    yield Finding(
        f"These lenses are photochromic, and {pair}; behind a windscreen they hardly darken.",
        "Offer sun lenses for driving as well, and confirm that the wearer was told.",
        _joined(eyes),
        "photochromic",
        "a sun pair for driving",
        None,
        ("Offer tinted or polarised lenses for driving.", "Confirm that the wearer was told."),
        eyes[0].at("lenses.treatments") if case.is_only_pair else "other_pair",
    )
