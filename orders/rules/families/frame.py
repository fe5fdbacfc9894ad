"""Are the frame's box figures there, can they be those of a real frame, and does the lens centre suit it?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from dispensing.optics.errors import OpticsError
from dispensing.prescribing.slips import TEN
from dispensing.trade import figure
from dispensing.trade.position_of_wear import dress_face_form_deg
from orders.documents.lens_order import FramePart
from orders.documents.names import FRAME_SOURCES
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_most, below, outside
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("frame").rule

NAMES = {"a_mm": "lens width (A)", "b_mm": "lens depth (B)", "dbl_mm": "bridge (DBL)"}


@rule(
    id="box-complete",
    number=48,
    level="stop",
    title="The frame's A, B, DBL, and ED or a trace",
    why="Frame figures are 9 % of what labs call back about; without them nothing can be cut out or centred.",
)
def box_complete(case: Case) -> Iterator[Finding]:
    frame = case.order.frame
    # Uncut lenses are not cut to the frame, so somebody may answer for sending them without its figures.
    liftable = case.order.supply == "uncut"
    for key, name in NAMES.items():
        if getattr(frame, key) is None:
            text, advice = f"The frame's {name} is missing.", "Measure it on the frame or read it from the trace."
            remedies, field = (f"Give the {name}.",), f"frame.{key}"
            yield Finding(text, advice, None, None, f"the {name}", "mm", remedies, field, liftable=liftable)
    if frame.ed_mm is None and frame.shape is None:
        yield Finding(
            "The frame has neither an ED nor a traced shape.",
            "Give one of the two.",
            None,
            None,
            "an ED or a traced shape",
            "mm",
            ("Send the traced shape.", "Measure the ED: twice the longest radius from the boxed centre."),
            "frame.ed_mm",
            liftable=liftable,
        )


@rule(
    id="box-sane",
    number=49,
    level=("stop", "ask"),
    title="Box figures that a frame can have",
    why="A mistyped size makes a lens that cannot be glazed, or one centred for another frame.",
)
def box_sane(case: Case) -> Iterator[Finding]:
    frame = case.order.frame
    for key, name in NAMES.items():
        value: float | None = getattr(frame, key)
        part = key.removesuffix("_mm")
        low, high = case.limit("box-sane", f"{part}_least_mm"), case.limit("box-sane", f"{part}_most_mm")
        if value is not None and outside(value, low, high):
            yield Finding(
                f"The frame's {name} is {words.mm(value)}; {words.mm(low)} to {words.mm(high)} is usual.",
                "Read it again from the frame.",
                None,
                value,
                low if value < low else high,
                "mm",
                ("Read the size again from the frame or measure it.",),
                f"frame.{key}",
                "ask",
            )
    yield from _impossible_curve(frame)
    yield from _deeper_than_wide(case, frame)
    yield from _impossible_ed(frame)


def _impossible_curve(frame: FramePart) -> Iterator[Finding]:
    most, curve = figure("typed-frame", "curve_most_d"), frame.front_curve_d
    if curve is None or not above(curve, most):
        return
    meant = f" {words.number(curve / TEN)}?" if not above(curve / TEN, most) else ""
    yield Finding(
        f"The frame's front curve is {words.dioptres(curve)}; no front is steeper than {words.dioptres(most)}.",
        f"Read it again from the frame.{meant}",
        None,
        curve,
        most,
        "D",
        ("Read the curve again from the frame.",),
        "frame.front_curve_d",
        "ask",
    )


def _deeper_than_wide(case: Case, frame: FramePart) -> Iterator[Finding]:
    """A lens is hardly ever deeper than it is wide: A and B were probably exchanged."""
    most = case.limit("box-sane", "deeper_than_wide_mm")
    if frame.a_mm is None or frame.b_mm is None or not above(frame.b_mm - frame.a_mm, most):
        return
    yield Finding(
        f"The lens is {words.mm(frame.a_mm)} wide and {words.mm(frame.b_mm)} deep; lenses are wider than deep.",
        "Were A and B exchanged? Read them again from the frame.",
        None,
        frame.b_mm,
        frame.a_mm,
        "mm",
        ("Exchange A and B if they were mistyped.", "Confirm that the lens is so deep."),
        "frame.b_mm",
        "ask",
    )


def _impossible_ed(frame: FramePart) -> Iterator[Finding]:
    """The longest radius is at least half of A and half of B, and reaches at most the corner of the box."""
    if frame.ed_mm is None or frame.a_mm is None or frame.b_mm is None:
        return
    least, most = max(frame.a_mm, frame.b_mm), math.hypot(frame.a_mm, frame.b_mm)
    if not outside(frame.ed_mm, least, most):
        return
    yield Finding(
        f"The ED is {words.mm(frame.ed_mm)}; a lens {words.mm(frame.a_mm)} by {words.mm(frame.b_mm)} has an ED of "
        f"{words.mm(least)} to {words.mm(most)}.",
        "Measure A, B and ED again.",
        None,
        frame.ed_mm,
        least if frame.ed_mm < least else most,
        "mm",
        ("Measure the ED again: twice the longest radius from the boxed centre.", "Check A and B."),
        "frame.ed_mm",
    )


@rule(
    id="decentration",
    number=51,
    level="ask",
    title="The frame's width suits the PD",
    why="Much decentration makes a thick edge, needs a large blank, and looks as if the eyes were close-set.",
)
def decentration(case: Case) -> Iterator[Finding]:
    """Whether a frame suits a face shows at the far PD, whatever the pair is for. The limit is meant for the handbook's
    figure, which is out by millimetres for the turned lens of a wrap.
    """
    most, angle = case.limit("decentration", "in_max_mm"), case.order.fitting.face_form_deg
    is_turned = angle is not None and above(angle, dress_face_form_deg(case.limits)[1])
    for eye in case.eyes:
        moved = eye.figures.far_centre_in_mm if is_turned else eye.figures.far_decentration_in_mm
        if moved is None or not (above(moved, most) or below(moved, 0.0)):
            continue
        if above(moved, most) and _is_good_all_the_same(case, eye, moved):
            continue
        outwards = moved < 0.0
        advice = "a larger lens or a wider bridge" if outwards else "a smaller lens or a narrower bridge"
        yield Finding(
            f"The {eye.eye} lens is decentred {words.mm(abs(moved))} {'out' if outwards else 'in'}; 0 to "
            f"{words.mm(most)} in is usual.",
            f"Check PD, A and DBL; if they are right, {advice} suits better.",
            eye.eye,
            moved,
            0.0 if outwards else most,
            "mm",
            ("Check the PD and the frame's A and DBL.", f"Choose a frame with {advice}."),
            eye.at("fitting.pd_mm"),
        )


def _is_good_all_the_same(case: Case, eye: EyeCase, moved: float) -> bool:
    """Whether nothing speaks against a wide frame: the two PDs agree, the blank covers, and the edge is not thick.

    A practice that allows less than the trade means it, whatever the blank and the edge are.
    """
    if below(case.limit("decentration", "in_max_mm"), figure("decentration", "in_max_mm")):
        return False
    pd, total, body = case.order.fitting.binocular_pd_mm, case.monocular_sum_mm, eye.figures.body_as_made
    fit, mount = eye.figures.blank_fit, case.order.frame.mount
    if pd is None or total is None or body is None or fit is None or not fit.fits:
        return False
    thickest = case.limit("edge-thick", "drilled_mm" if mount == "drilled" else "rimmed_mm")
    agree = at_most(abs(total - pd), case.limit("whole-millimetres", "step_mm"))
    return agree and at_most(body.edge_max_mm, thickest) and at_most(moved, case.limit("decentration", "in_known_mm"))


@rule(
    id="shape-agrees",
    number=50,
    level=("stop", "ask"),
    title="The trace is of this frame",
    why="A trace that does not agree with A and B is of another frame or size, and the lens will not fit.",
)
def shape_agrees(case: Case) -> Iterator[Finding]:
    frame, shapes = case.order.frame, case.shapes
    if frame.shape is None:
        return
    if shapes.fault is not None or shapes.right is None:
        yield Finding(
            f"The traced shape cannot be used{_why(shapes.fault)}.",
            "Trace the frame again, or leave the trace out.",
            None,
            None,
            "at least 36 radii above 0",
            "mm",
            ("Trace the frame again.", "Leave the trace out and give A, B and ED."),
            "frame.shape",
        )
        return
    most = case.limit("shape-agrees", "difference_mm")
    for key, traced in (("a_mm", shapes.right.a_mm), ("b_mm", shapes.right.b_mm)):
        entered: float | None = getattr(frame, key)
        if entered is not None and above(abs(traced - entered), most):
            yield Finding(
                f"The frame's {NAMES[key]} is {words.mm(entered)}, but the trace has {words.mm(traced)}; they may "
                f"differ by {words.mm(most)}.",
                "Is the trace of this frame and size?",
                None,
                traced,
                entered,
                "mm",
                ("Trace this frame again.", f"Correct the {NAMES[key]} if it was mistyped."),
                f"frame.{key}",
                "ask",
            )


def _why(fault: OpticsError | None) -> str:
    if fault is None:
        return ""
    found = "missing" if fault.value is None else fault.value
    return f": the {fault.quantity} is {found}, and {fault.allowed} is allowed"


@rule(
    id="own-frame",
    number=63,
    level="ask",
    title="The patient's own frame at the patient's risk",
    why="An old frame may break at glazing; labs give no warranty on it.",
)
def own_frame(case: Case) -> Iterator[Finding]:
    if case.order.frame.source == "own":
        yield Finding(
            "The frame is the patient's own.",
            "Look at its condition, and confirm that the patient accepts the risk.",
            None,
            "own frame",
            "consent",
            None,
            ("Have the patient's consent in writing.", "Choose a new frame."),
            "frame.source",
        )


@rule(
    id="frame-route",
    number=64,
    level=("stop", "ask"),
    title="The frame gets to the lab that fits it",
    why="A job to be fitted stands still until the frame arrives.",
)
def frame_route(case: Case) -> Iterator[Finding]:
    yield from _travels_for_nothing(case)
    yield from _no_name(case)
    if case.order.supply == "fitted" and case.order.frame.source == "trace_only":
        yield Finding(
            "The lenses are to be fitted, but the lab gets only a trace.",
            "Send the frame, or order the lenses edged.",
            None,
            "trace only",
            "a frame at the lab",
            None,
            ("Enclose the frame or let it follow.", "Let the lab supply the frame.", "Order the lenses edged."),
            "frame.source",
        )


def _travels_for_nothing(case: Case) -> Iterator[Finding]:
    source = case.order.frame.source
    if case.order.supply != "uncut" or source not in ("enclosed", "to_follow", "own"):
        return
    yield Finding(
        f"The lenses come uncut, and of the frame is said: {FRAME_SOURCES[source]}.",
        "If the practice edges, the frame stays here: correct one of the two.",
        None,
        FRAME_SOURCES[source],
        "a frame that stays here",
        None,
        ("Keep the frame.", "Order the lenses edged or fitted."),
        "frame.source",
        "ask",
    )


def _no_name(case: Case) -> Iterator[Finding]:
    frame = case.order.frame
    if frame.source == "lab_supplies" and not (frame.model or "").strip():
        yield Finding(
            "The lab is to supply the frame, and it has no name.",
            "Give model, size and colour.",
            None,
            None,
            "the frame's name",
            None,
            ("Give the name of the frame.", "Send the frame, or a trace of it."),
            "frame.model",
            "ask",
        )
