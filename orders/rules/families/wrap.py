"""Does the lens follow a wrapped frame, in both curve and power?"""

from __future__ import annotations

from collections.abc import Iterator

from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least, below
from orders.rules.finding import Finding
from orders.rules.registry import Family
from orders.rules.wraps import front_curve_d, has_wrap_curve, is_turned_like_a_wrap, is_wrap

rule = Family("wrapped frames").rule


@rule(
    id="wrap-base",
    number=78,
    level="stop",
    title="A wrapped frame gets a steep lens",
    why="A flat lens falls out of a steep frame, or bends it open.",
)
def wrap_base(case: Case) -> Iterator[Finding]:
    least = case.limit("wrap-base", "lens_curve_d")
    for eye in case.eyes if has_wrap_curve(case.order.frame, case.limits) else ():
        chosen = eye.figures.base_curve
        if chosen is not None and below(chosen.curve_d, least):
            curve = words.dioptres(chosen.curve_d)
            curve += " by Vogel's rule, as the catalogue has no curve for this power" if chosen.by == "vogel" else ""
            yield Finding(
                f"The frame has a curve of {words.dioptres(case.order.frame.front_curve_d or 0.0)} and the {eye.eye} "
                f"lens {curve}; at least {words.dioptres(least)} is needed.",
                "Order a steeper base curve, or a lens made for wraps.",
                eye.eye,
                chosen.curve_d,
                least,
                "D",
                (f"Order a base curve of {words.dioptres(least)} or more.", "Choose a lens made for wraps."),
                eye.at("lenses.base_curve_d"),
            )


@rule(
    id="curve-matches-frame",
    number=140,
    level="ask",
    title="A steep frame and its lenses have much the same curve",
    why="A lens much flatter or steeper than a steep rim falls out, or bends the front out of its shape.",
)
def curve_matches_frame(case: Case) -> Iterator[Finding]:
    curve = front_curve_d(case.order.frame)
    for eye in case.eyes:
        chosen = eye.figures.base_curve
        if chosen is None or chosen.by == "vogel":
            continue  # What the lab will take is not known.
        if curve is None:
            yield from _too_flat_for_its_angle(case, eye, chosen.curve_d)
        elif at_least(curve, case.limit("curve-matches-frame", "steep_d")):
            yield from _apart(case, eye, chosen.curve_d, curve)


def _apart(case: Case, eye: EyeCase, lens_d: float, frame_d: float) -> Iterator[Finding]:
    wrapped = is_wrap(case.order, case.limits)
    most = case.limit("curve-matches-frame", "wrap_apart_d" if wrapped else "apart_d")
    stopped = has_wrap_curve(case.order.frame, case.limits) and below(lens_d, case.limit("wrap-base", "lens_curve_d"))
    if stopped or not above(abs(lens_d - frame_d), most):
        return
    kind = "wrapped" if wrapped else "steep"
    yield Finding(
        f"The {kind} frame has a curve of {words.dioptres(frame_d)} and the {eye.eye} lens {words.dioptres(lens_d)}; "
        f"up to {words.dioptres(most)} apart is usual.",
        "Order a base curve nearer the frame's, or ask the lab.",
        eye.eye,
        abs(lens_d - frame_d),
        most,
        "D",
        (f"Order a base curve near {words.dioptres(frame_d)}.", "Ask the lab whether the lens will hold."),
        eye.at("lenses.base_curve_d"),
    )


def _too_flat_for_its_angle(case: Case, eye: EyeCase, lens_d: float) -> Iterator[Finding]:
    """A frame whose curve nobody gave, but which is turned so far that it must be steep."""
    least = case.limit("curve-matches-frame", "turned_d")
    if is_turned_like_a_wrap(case.order, case.limits) and below(lens_d, least):
        yield Finding(
            f"The front is turned {words.degrees(case.order.fitting.face_form_deg or 0.0)}, as that of a wrap is, and "
            f"the {eye.eye} lens has a base curve of {words.dioptres(lens_d)}; such fronts are curved by "
            f"{words.dioptres(least)} or more.",
            "Give the frame's curve, and order a base curve near it.",
            eye.eye,
            lens_d,
            least,
            "D",
            ("Measure the frame's curve with a lens clock and type it.", "Order a base curve near the frame's."),
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
    for eye in case.eyes if has_wrap_curve(case.order.frame, case.limits) else ():
        beyond = next((power for power in eye.made_power.meridians_d if below(power, low) or above(power, high)), None)
        if beyond is not None:
            yield Finding(
                f"The {eye.eye} lens has {words.power(beyond)} in one meridian; on a wrapped frame "
                f"{words.power(low)} to {words.power(high)} is usual.",
                "Ask the lab, or choose a wrap with smaller lenses.",
                eye.eye,
                beyond,
                low if beyond < low else high,
                "D",
                ("Ask the lab whether it makes this power on a steep base.", "Choose a wrap with smaller lenses."),
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
            "Choose a compensated lens.",
            eye.eye,
            angle,
            most,
            "°",
            _compensated_designs(case, eye.kind),
            eye.at("lenses.design"),
        )


def _compensated_designs(case: Case, kind: str | None) -> tuple[str, ...]:
    names = [design.name for design in case.catalogue.designs if design.compensated and design.kind == kind]
    return (f"Choose {words.listed(names, 'or')}.",) if names else ("Choose a lens compensated for wear.",)
