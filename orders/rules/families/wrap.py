"""Does the lens follow a wrapped frame, in both curve and power?"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.trade import figure
from orders.rules import words
from orders.rules.case import Case
from orders.rules.compare import above, at_least, below
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("wrapped frames").rule


def _is_wrapped(case: Case) -> bool:
    curve = case.order.frame.front_curve_d
    if curve is None or above(curve, figure("typed-frame", "curve_most_d")):
        return False
    return at_least(curve, case.limit("wrap-base", "frame_curve_d"))


@rule(
    id="wrap-base",
    number=78,
    level="stop",
    title="A wrapped frame gets a steep lens",
    why="A flat lens falls out of a steep frame, or bends it open.",
)
def wrap_base(case: Case) -> Iterator[Finding]:
    least = case.limit("wrap-base", "lens_curve_d")
    for eye in case.eyes if _is_wrapped(case) else ():
        chosen = eye.figures.base_curve
        if chosen is not None and below(chosen.curve_d, least):
            curve = words.dioptres(chosen.curve_d)
            curve += " by Vogel's rule, as the catalogue has no curve for this power" if chosen.by == "vogel" else ""
            yield Finding(
                f"The frame has a curve of {words.dioptres(case.order.frame.front_curve_d or 0.0)} and the {eye.eye} "
                f"lens {curve}; at least {words.dioptres(least)} is needed.",
                "Order a steeper base curve, or choose a flatter frame.",
                eye.eye,
                chosen.curve_d,
                least,
                "D",
                (f"Order a base curve of {words.dioptres(least)} or more.", "Choose a flatter frame."),
                eye.at("lenses.base_curve_d"),
            )


@rule(
    id="wrap-range",
    number=79,
    level="ask",
    title="A power that a wrapped lens can have",
    why="On a steep base strong minus has a thick edge, plus a thin one, and both blur to the side.",
)
def wrap_range(case: Case) -> Iterator[Finding]:
    low, high = case.limit("wrap-range", "least_d"), case.limit("wrap-range", "most_d")
    for eye in case.eyes if _is_wrapped(case) else ():
        beyond = next((power for power in eye.made_power.meridians_d if below(power, low) or above(power, high)), None)
        if beyond is not None:
            yield Finding(
                f"The {eye.eye} lens has {words.power(beyond)} in one meridian; on a wrapped frame "
                f"{words.power(low)} to {words.power(high)} is usual.",
                "Ask the lab, or choose a flatter frame.",
                eye.eye,
                beyond,
                low if beyond < low else high,
                "D",
                ("Ask the lab whether it makes this power on a steep base.", "Choose a flatter frame."),
                eye.at("prescription.sphere"),
            )


@rule(
    id="wrap-compensation",
    number=80,
    level="stop",
    title="A wrapped lens is compensated for its angle",
    why="At such an angle the wearer gets another power and prism than was prescribed, even in plano.",
)
def wrap_compensation(case: Case) -> Iterator[Finding]:
    angle, most = case.order.fitting.face_form_deg, case.limit("wrap-compensation", "face_form_deg")
    if angle is None or not above(angle, most):
        return
    for eye in case.eyes:
        if eye.design is None or eye.design.compensated is True:
            continue
        yield Finding(
            f"The face form is {words.degrees(angle)}, and {eye.design.name} ({eye.eye} lens) is not compensated "
            f"for it; above {words.degrees(most)} it must be.",
            "Choose a compensated lens, or a flatter frame.",
            eye.eye,
            angle,
            most,
            "°",
            (*_compensated_designs(case, eye.kind), "Choose a flatter frame."),
            eye.at("lenses.design"),
        )


def _compensated_designs(case: Case, kind: str | None) -> tuple[str, ...]:
    names = [design.name for design in case.catalogue.designs if design.compensated and design.kind == kind]
    return (f"Choose {words.listed(names, 'or')}.",) if names else ("Choose a lens compensated for wear.",)
