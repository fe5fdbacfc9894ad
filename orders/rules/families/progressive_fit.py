"""Does a progressive lens fit in the frame: height, corridor, near circle, clearance above?"""

from __future__ import annotations

from collections.abc import Iterator

from orders.documents.lens_catalogue import Corridor
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_most, below
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("progressive fit").rule

BELOW_CORRIDOR = "reading_room_mm"


@rule(
    id="minimum-height",
    number=53,
    level="stop",
    title="The height the design needs",
    why="Below its minimum height the reading zone of a design ends outside the frame.",
)
def minimum_height(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        height, least = eye.fitted.height_mm, least_height_mm(eye)
        if height is None or least is None or not below(height, least):
            continue
        yield Finding(
            f"The fitting height of the {eye.name} is {words.mm(height)}; this lens needs at least {words.mm(least)}.",
            _shorter_advice(eye, height),
            eye.eye,
            height,
            least,
            "mm",
            (_shorter_advice(eye, height), "Choose a deeper frame and measure the height in it."),
            eye.at("fitting.height_mm"),
        )


def least_height_mm(eye: EyeCase) -> float | None:
    """The minimum for the corridor in use; if none is chosen, the lowest that the design has."""
    corridor = eye.figures.corridor
    if corridor is not None:
        return corridor.min_height_mm
    if eye.design is None or eye.lens is None or eye.lens.corridor_mm is not None:
        return None
    stated = [row.min_height_mm for row in eye.design.corridors if row.min_height_mm is not None]
    return min(stated, default=None)


def _fitting_corridors(eye: EyeCase, height: float) -> list[Corridor]:
    room = eye.case.limit("corridor-fits", BELOW_CORRIDOR)
    listed = eye.design.corridors if eye.design else ()
    return [
        row
        for row in listed
        if at_most(row.length_mm, height - room) and (row.min_height_mm is None or row.min_height_mm <= height)
    ]


def _shorter_advice(eye: EyeCase, height: float) -> str:
    fitting = sorted(_fitting_corridors(eye, height), key=lambda row: -row.length_mm)
    if fitting:
        return f"Order the {words.mm(fitting[0].length_mm)} corridor."
    return "Choose a design with a shorter corridor or a deeper frame."


@rule(
    id="corridor-fits",
    number=54,
    level="stop",
    title="The corridor leaves room to read",
    why="Too little room below the corridor's end leaves too little lens to read through.",
)
def corridor_fits(case: Case) -> Iterator[Finding]:
    room = case.limit("corridor-fits", BELOW_CORRIDOR)
    for eye in case.eyes:
        height, corridor = eye.fitted.height_mm, eye.figures.corridor_length_mm
        if not eye.has_cross or height is None or corridor is None or not above(corridor, height - room):
            continue
        yield Finding(
            f"The corridor of the {eye.eye} lens is {words.mm(corridor)}; a height of {words.mm(height)} leaves "
            f"room for {words.mm(height - room)}.",
            _shorter_advice(eye, height),
            eye.eye,
            corridor,
            height - room,
            "mm",
            (_shorter_advice(eye, height),),
            eye.at("lenses.corridor_mm"),
        )


@rule(
    id="reading-area-cut",
    number=55,
    level=("stop", "ask"),
    title="The near circle lies whole inside the shape",
    why="A rim that cuts the reading zone, as pilot and cut-away shapes do, takes away what the lens is for.",
)
def reading_area_cut(case: Case) -> Iterator[Finding]:
    spare = case.limit("reading-area-cut", "inside_mm")
    for eye in case.eyes:
        circle = eye.figures.near_circle
        if circle is None or not below(circle.margin_mm, spare):
            continue
        cut = below(circle.margin_mm, 0.0)
        state = (
            f"is cut by {words.mm(abs(circle.margin_mm))}, {circle.cut_share:.0%} of it is lost"
            if cut
            else f"lies only {words.mm(abs(circle.margin_mm))} inside the rim"
        )
        yield Finding(
            f"The reading zone of the {eye.eye} lens {state}; it should lie {words.mm(spare)} inside.",
            "Choose a shorter corridor, or a frame with more room below and towards the nose.",
            eye.eye,
            circle.margin_mm,
            0.0 if cut else spare,
            "mm",
            ("Choose a shorter corridor.", "Choose a frame with more room below and towards the nose."),
            eye.at("lenses.corridor_mm"),
            "stop" if cut else "ask",
        )


@rule(
    id="clearance-above",
    number=56,
    level="ask",
    title="Room above the fitting cross",
    why="Too little lens above the cross leaves the wearer without a distance zone to look through.",
)
def clearance_above(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        room = eye.figures.clearance_above_mm
        if room is None or eye.design is None:
            continue
        stated = eye.design.clearance_above_mm
        least = case.limit("clearance-above", "least_mm") if stated is None else stated
        if below(room, least):
            yield Finding(
                f"There are {words.mm(room)} of lens above the fitting cross of the {eye.name}; this lens wants "
                f"{words.mm(least)}.",
                "Check the height, or choose a deeper frame.",
                eye.eye,
                room,
                least,
                "mm",
                ("Check the height.", "Choose a deeper frame, or one that sits higher."),
                eye.at("fitting.height_mm"),
            )


@rule(
    id="frame-depth",
    number=57,
    level="ask",
    title="A frame deep enough for a progressive lens",
    why="In a shallow frame no corridor leaves room for both distance and reading.",
)
def frame_depth(case: Case) -> Iterator[Finding]:
    b, least = case.order.frame.b_mm, case.limit("frame-depth", "least_mm")
    if b is not None and below(b, least) and any(eye.kind == "progressive" for eye in case.eyes):
        yield Finding(
            f"The lens is {words.mm(b)} deep; a progressive lens wants at least {words.mm(least)}, better "
            f"{words.number(case.limit('frame-depth', 'wanted_least_mm'))} to "
            f"{words.mm(case.limit('frame-depth', 'wanted_most_mm'))}.",
            "Choose a deeper frame, or another kind of lens.",
            None,
            b,
            least,
            "mm",
            ("Choose a deeper frame.", "Choose single vision or bifocal lenses."),
            "frame.b_mm",
        )
