"""Are the heights there, and do they lie on the lens?"""

from __future__ import annotations

from collections.abc import Iterator

from orders.documents.names import HEIGHT_POINTS
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least, at_most, below
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("heights").rule


@rule(
    id="height-needed",
    number=36,
    level=("stop", "ask"),
    title="A height where the lens is placed by one",
    why="A multifocal lens without a height cannot be made; a strong lens off its height makes prism.",
)
def height_needed(case: Case) -> Iterator[Finding]:
    strong = case.limit("height-needed", "single_vision_power_d")
    for eye in case.eyes:
        if eye.fitted.height_mm is not None:
            continue
        if eye.is_multifocal and eye.kind is not None:
            what = HEIGHT_POINTS[eye.kind]
            text = f"The {eye.name} has a {eye.kind_words} lens and no height."
            advice = f"Measure the height of the {what}."
            remedies = (f"Measure from the lowest point of the lens shape to the {what}.",)
            yield Finding(text, advice, eye.eye, None, "a height", "mm", remedies, eye.at("fitting.height_mm"))
        elif eye.kind == "single_vision" and _is_strong(eye, strong):
            yield Finding(
                f"The {eye.name} has a lens of {words.dioptres(eye.made_power.strongest_d or 0.0)} and no height for "
                f"its optical centre; from {words.dioptres(strong)} on one is wanted.",
                "Give one, or confirm the middle of the frame.",
                eye.eye,
                None,
                "a height",
                "mm",
                ("Measure the height of the optical centre.",),
                eye.at("fitting.height_mm"),
                "ask",
            )


def _is_strong(eye: EyeCase, limit: float) -> bool:
    return eye.made_power.strongest_d is not None and at_least(eye.made_power.strongest_d, limit)


@rule(
    id="height-inside-frame",
    number=37,
    level=("stop", "ask"),
    title="A height that lies on the lens",
    why="A height outside the lens cannot be; one near the rim or below the middle leaves a zone unusable.",
)
def height_inside_frame(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        height, b = eye.fitted.height_mm, case.order.frame.b_mm
        if height is None:
            continue
        if at_most(height, 0.0) or (b is not None and at_least(height, b)):
            yield _off_the_lens(eye, height, b)
        elif b is not None and eye.kind == "progressive":
            yield from _badly_placed(case, eye, height, b)


def _off_the_lens(eye: EyeCase, height: float, b: float | None) -> Finding:
    depth = "the lens depth" if b is None else f"the lens depth of {words.mm(b)}"
    return Finding(
        f"The height of the {eye.name} is {words.mm(height)}; it must lie between 0 and {depth}.",
        "Measure it again from the lowest point of the lens shape, or correct B.",
        eye.eye,
        height,
        0.0 if height <= 0.0 or b is None else b,
        "mm",
        ("Measure the height again in this frame.", "Correct B if the frame is deeper."),
        eye.at("fitting.height_mm"),
    )


def _badly_placed(case: Case, eye: EyeCase, height: float, b: float) -> Iterator[Finding]:
    top = b - case.limit("height-inside-frame", "least_above_cross_mm")
    bottom = b / 2.0 - case.limit("height-inside-frame", "most_below_middle_mm")
    if not (above(height, top) or below(height, bottom)):
        return
    side, limit = ("high", top) if above(height, top) else ("low", bottom)
    yield Finding(
        f"The fitting cross of the {eye.name} is {words.mm(height)} up, {side} for a lens {words.mm(b)} deep; "
        f"{words.mm(bottom)} to {words.mm(top)} is usual.",
        "Look at the fit of the frame and measure again.",
        eye.eye,
        height,
        limit,
        "mm",
        ("Adjust the frame on the face and measure again.", "Choose a frame whose depth suits."),
        eye.at("fitting.height_mm"),
        "ask",
    )


@rule(
    id="heights-differ",
    number=38,
    level="ask",
    title="Right and left height nearly alike",
    why="Heights far apart usually mean a frame that sits crooked; real differences are to be kept.",
)
def heights_differ(case: Case) -> Iterator[Finding]:
    right, left = case.right.fitted.height_mm, case.left.fitted.height_mm
    if right is None or left is None or not case.is_pair:
        return
    difference, most = abs(right - left), case.limit("heights-differ", "difference_mm")
    if not above(difference, most):
        return
    great = above(difference, case.limit("heights-differ", "repeat_mm"))
    advice = "Level the frame and measure again." if great else "Look whether the frame sits level, and confirm."
    yield Finding(
        f"The heights differ by {words.mm(difference)} (right {words.mm(right)}, left {words.mm(left)}); up to "
        f"{words.mm(most)} is usual.",
        advice,
        "both",
        difference,
        most,
        "mm",
        ("Level the frame and measure both again.", "Confirm if the eyes are at different heights."),
        "fitting.right.height_mm",
    )


@rule(
    id="bifocal-height",
    number=58,
    level="ask",
    title="A segment top that can be used",
    why="A low segment is too small to read by, and one close to the middle of the lens is in the way.",
)
def bifocal_height(case: Case) -> Iterator[Finding]:
    least, below_middle = case.limit("bifocal-height", "least_mm"), case.limit("bifocal-height", "below_middle_mm")
    for eye in case.eyes:
        height, b = eye.fitted.height_mm, case.order.frame.b_mm
        if eye.kind != "bifocal" or height is None:
            continue
        too_low = below(height, least)
        if not too_low and (b is None or not below(b / 2.0 - height, below_middle)):
            continue
        limit = least if too_low or b is None else b / 2.0 - below_middle
        allowed = (
            f"at least {words.mm(limit)} is wanted" if too_low else f"at most {words.mm(limit)} is usual in this frame"
        )
        yield Finding(
            f"The segment of the {eye.name} is {words.mm(height)} high; {allowed}.",
            "Measure to the lower lid again, and confirm if the task asks for it.",
            eye.eye,
            height,
            limit,
            "mm",
            ("Measure to the lower lid again.", "Confirm a height chosen for the wearer's task or posture."),
            eye.at("fitting.height_mm"),
        )


@rule(
    id="trifocal-height",
    number=59,
    level="ask",
    title="A trifocal leaves room to read",
    why="Below the intermediate strip there must be enough lens to read through.",
)
def trifocal_height(case: Case) -> Iterator[Finding]:
    least = case.limit("trifocal-height", "intermediate_mm") + case.limit("trifocal-height", "near_mm")
    for eye in case.eyes:
        height = eye.fitted.height_mm
        if eye.kind == "trifocal" and height is not None and below(height, least):
            yield Finding(
                f"The trifocal of the {eye.name} is {words.mm(height)} high; intermediate strip and reading part "
                f"need {words.mm(least)}.",
                "Measure to the lower edge of the pupil again, or choose a deeper frame.",
                eye.eye,
                height,
                least,
                "mm",
                ("Measure to the lower edge of the pupil again.", "Choose a deeper frame."),
                eye.at("fitting.height_mm"),
            )


@rule(
    id="pupil-in-frame",
    number=62,
    level="ask",
    title="The pupil near the middle of the lens",
    why="A pupil far from the middle of the shape makes thick edges and looks wrong.",
)
def pupil_in_frame(case: Case) -> Iterator[Finding]:
    most = case.limit("pupil-in-frame", "vertical_mm")
    for eye in case.eyes:
        up, inwards, a = eye.figures.decentration_up_mm, eye.figures.centre_in_mm, case.order.frame.a_mm
        at_pupil = eye.has_cross or (eye.kind == "single_vision" and eye.fitted.height_mm is not None)
        if at_pupil and up is not None and above(abs(up), most):
            side = "above" if up > 0.0 else "below"
            yield _off_middle(eye, abs(up), most, f"{words.mm(abs(up))} {side} the middle of the lens", "height_mm")
        nasal = None if a is None or a <= 0.0 else a / 2.0 * case.limit("pupil-in-frame", "nasal_half_share")
        if inwards is not None and nasal is not None and above(inwards, nasal):
            yield _off_middle(eye, inwards, nasal, f"{words.mm(inwards)} nasal of the middle of the lens", "pd_mm")


def _off_middle(eye: EyeCase, found: float, limit: float, where: str, key: str) -> Finding:
    return Finding(
        f"The pupil of the {eye.name} lies {where}; up to {words.mm(limit)} is usual.",
        "Check the figure, or choose a frame that suits the face.",
        eye.eye,
        found,
        limit,
        "mm",
        ("Check the height, the PD and the frame's size.", "Choose a frame that suits the face."),
        eye.at(f"fitting.{key}"),
    )


@rule(
    id="optical-centre-drop",
    number=61,
    level="ask",
    title="The optical centre is lowered for the tilt",
    why="With the centre at the pupil of a tilted strong lens the eye looks along its axis nowhere.",
)
def optical_centre_drop(case: Case) -> Iterator[Finding]:
    strong, most = case.limit("optical-centre-drop", "power_d"), case.limit("optical-centre-drop", "tilt_deg")
    tilt = case.order.fitting.pantoscopic_deg
    if tilt is None or not above(tilt, most):
        return
    for eye in case.eyes:
        drop, above_middle = eye.figures.optical_centre_drop_mm, eye.figures.decentration_up_mm
        if eye.kind != "single_vision" or eye.fitted.height_mm is None or drop is None or above_middle is None:
            continue
        # Pupils are a few millimetres above the middle; a centre already lowered for the tilt is at about the middle.
        lowered = drop * case.limit("optical-centre-drop", "drop_share")
        power = eye.made_power.strongest_d
        if power is not None and at_least(power, strong) and above(above_middle, lowered):
            yield Finding(
                f"The {eye.eye} lens has {words.dioptres(power)} and a tilt of "
                f"{words.degrees(tilt)}, and its height looks like that of the pupil: the optical centre belongs "
                f"{words.mm(round(drop, 1))} below it.",
                "Lower the height, or confirm that it is lowered already.",
                eye.eye,
                above_middle,
                lowered,
                "mm",
                (f"Lower the height by {words.mm(round(drop, 1))} if it is that of the pupil.",),
                eye.at("fitting.height_mm"),
            )
