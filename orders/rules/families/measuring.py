"""Were the measurements taken as they should be: in this frame, adjusted, twice, and finely enough?"""

from __future__ import annotations

from collections.abc import Iterator

from orders.rules import words
from orders.rules.case import Case
from orders.rules.compare import is_whole
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("measuring").rule


BOTH_OF_BOTH_EYES = 4
"""PD and height of right and left: a single whole figure may well be correct."""


@rule(
    id="two-readings",
    number=39,
    level="ask",
    title="Two readings for a progressive lens",
    why="Single heights vary by about half a millimetre (SD): two readings and their mean are worth the minute.",
)
def two_readings(case: Case) -> Iterator[Finding]:
    readings, least = case.order.fitting.readings, case.limit("two-readings", "readings")
    apart = case.limit("two-readings", "heights_apart_mm")
    if readings is None or readings >= least or not any(eye.kind == "progressive" for eye in case.eyes):
        return
    yield Finding(
        f"The heights were read {_times(readings)}; a progressive lens wants {least:g} readings.",
        f"Measure once more and take the mean; a third time if they differ by more than {words.mm(apart)}.",
        None,
        float(min(max(readings, -1), 99)),
        least,
        "readings",
        ("Measure once more and take the mean.",),
        "fitting.readings",
    )


def _times(count: int) -> str:
    return {0: "not at all", 1: "once"}.get(count, f"{min(max(count, -1), 99)} times")


@rule(
    id="measured-in-this-frame",
    number=40,
    level="stop",
    title="Measured in this frame",
    why="Heights belong to one frame in one size; in another they are wrong.",
)
def measured_in_this_frame(case: Case) -> Iterator[Finding]:
    if case.order.fitting.measured_in_this_frame is False:
        yield Finding(
            "The measurements were taken in another frame or size.",
            "Measure again in the frame that is ordered.",
            None,
            "another frame",
            "this frame",
            None,
            ("Measure again in this frame.",),
            "fitting.measured_in_this_frame",
        )


@rule(
    id="frame-pre-adjusted",
    number=41,
    level="ask",
    title="The frame was adjusted before measuring",
    why="Tilt and seat of the frame change heights; measured first, they are those of another pair.",
)
def frame_pre_adjusted(case: Case) -> Iterator[Finding]:
    if case.order.fitting.pre_adjusted is False:
        yield Finding(
            "The frame was not adjusted on the face before measuring.",
            "Adjust it and measure again, or confirm.",
            None,
            "not adjusted",
            "adjusted first",
            None,
            ("Adjust the frame and measure again.",),
            "fitting.pre_adjusted",
        )


@rule(
    id="whole-millimetres",
    number=46,
    level="ask",
    title="A personalised lens is measured to half a millimetre",
    why="Rounded to whole millimetres, with a millimetre of tolerance at the lab, the lens may sit well off.",
)
def whole_millimetres(case: Case) -> Iterator[Finding]:
    eyes = [eye for eye in case.eyes if eye.kind == "progressive" and eye.design and eye.design.compensated]
    figures = [value for eye in eyes for value in (eye.fitted.pd_mm, eye.fitted.height_mm) if value is not None]
    if len(figures) < BOTH_OF_BOTH_EYES or not all(is_whole(value) for value in figures):
        return
    step = case.limit("whole-millimetres", "step_mm")
    yield Finding(
        "PDs and heights are all in whole millimetres "
        f"({words.listed(words.number(value) for value in figures)}); this lens wants them to {words.mm(step)}.",
        "Confirm that they were not rounded.",
        case.pair_or_eye,
        1.0,
        step,
        "mm",
        (f"Give PDs and heights to {words.mm(step)}, or finer if measured so.",),
        f"fitting.{case.eyes[0].eye}.height_mm",
    )
