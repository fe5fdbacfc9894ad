"""Both lenses of a frame with the places of the eyes, small, for a list in which every frame is drawn at one scale."""

from __future__ import annotations

from dispensing.pictures.frame_front import PUPIL_RADIUS_MM
from dispensing.pictures.picture import Picture
from orders.documents.lens_order import Eye, LensOrder
from orders.rules.frame_shape import FrameShapes

SCALE = 0.42
"""Of life size on paper: a front of 140 mm takes some 220 px."""


def front_drawing(order: LensOrder, *, wide_mm: float, high_mm: float) -> str:
    """The order's frame, seen facing the wearer, in a field of this size; empty if A, B or DBL cannot be drawn.

    wide_mm, high_mm: of the largest front in the list, so that all come out at one scale.
    """
    frame, shapes = order.frame, FrameShapes.of(order.frame)
    if shapes.right is None or shapes.left is None or frame.dbl_mm is None:
        return ""
    picture = Picture()
    picture.reach((-wide_mm / 2.0, -high_mm / 2.0), (wide_mm / 2.0, high_mm / 2.0))
    middle = (shapes.right.a_mm + frame.dbl_mm) / 2.0
    for shape, centre in ((shapes.right, -middle), (shapes.left, middle)):
        picture.polygon([(x + centre, y) for x, y in shape.points().tolist()], "shape")
        picture.line((centre, -shape.b_mm / 2.0), (centre, shape.b_mm / 2.0), "axis-line")
        picture.line((centre - shape.a_mm / 2.0, 0.0), (centre + shape.a_mm / 2.0, 0.0), "axis-line")
    for eye in ("right", "left"):
        _draw_eye(picture, order, eye, shapes.right.b_mm)
    return picture.svg(title=f"Front of {frame.model or 'the frame'}", description=_words(order), scale=SCALE)


def _draw_eye(picture: Picture, order: LensOrder, eye: Eye, b_mm: float) -> None:
    fitted = order.fitting.eye(eye)
    if fitted.pd_mm is None:
        return
    up = 0.0 if fitted.height_mm is None else fitted.height_mm - b_mm / 2.0
    picture.circle((-fitted.pd_mm if eye == "right" else fitted.pd_mm, up), PUPIL_RADIUS_MM, "pupil")


def _words(order: LensOrder) -> str:
    frame, told = order.frame, []
    for eye in ("right", "left"):
        fitted = order.fitting.eye(eye)
        if fitted.pd_mm is not None:
            height = "in the middle of its height" if fitted.height_mm is None else f"{fitted.height_mm:.1f} mm high"
            told.append(f"The {eye} eye lies {fitted.pd_mm:.1f} mm from the middle of the bridge, {height}.")
    sizes = f"A {frame.a_mm:g} mm, B {frame.b_mm:g} mm, DBL {frame.dbl_mm:g} mm." if frame.a_mm and frame.b_mm else ""
    return " ".join([sizes, *told]).strip()
