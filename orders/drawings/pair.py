"""The order drawing: both lenses to scale from the front, with sizes, centring, zones, blank and what it misses.

This module draws what is known and leaves out what is not. It must never judge: hatching shows that a part is
missing, and the order check says what that means.
"""

from __future__ import annotations

from dispensing.pictures.picture import Picture
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder
from orders.drawings.hatching import hatch
from orders.drawings.layout import EyeLayout, PairLayout, pair_layout
from orders.drawings.segments import draw_segment
from orders.drawings.words import described

LEGEND = (
    "Seen from the front, in mm: right lens on the left, nose in the middle. Cross: where the lens is centred. Dashed: "
    "pupil. Blue circle: blank. Blue arrow: decentration. Hatched: not covered by the blank. Dot: thickest place."
)
SCALE_BAR_MM = 50
PUPIL_RADIUS_MM = 2.0
CROSS_ARM_MM = 3.0
THICKEST_DOT_MM = 0.9


def order_drawing(
    order: LensOrder,
    catalogue: LensCatalogue | None = None,
    *,
    headings: tuple[str, str] = ("R", "L"),
    scale: float = 1.0,
    layout: PairLayout | None = None,
    lettering: float = 1.0,
    with_sizes: bool = True,
) -> str:
    """The drawing as SVG text, `scale` times life size. `headings`: what the right and left eyes are called.

    layout: where everything lies, if already worked out; `catalogue` is then not read. lettering: how much larger
    the text is than on paper. with_sizes: the sizes and figures round it; a small screen has room for the pair only.
    """
    layout = layout or pair_layout(order, catalogue)
    picture = Picture(lettering)
    for eye in layout.eyes:
        _draw_eye(picture, eye)
    if not picture.drawn:
        picture.text((0.0, 0.0), "No frame sizes yet", "note")
    elif with_sizes:
        _draw_sizes(picture, layout, headings)
    else:
        _draw_headings(picture, headings)
    title = f"Drawing of order {order.number}" if order.number else "Drawing of the order"
    return picture.svg(title=title, description=described(layout), scale=scale)


def _draw_eye(picture: Picture, eye: EyeLayout) -> None:
    if eye.outline is None or eye.box is None:
        return
    left, right, bottom, top = eye.box
    picture.polygon([(left, bottom), (right, bottom), (right, top), (left, top)], "box")
    picture.line((left, 0.0), (right, 0.0), "axis-line")
    picture.line((eye.centre_x, bottom), (eye.centre_x, top), "axis-line")
    for part in eye.missing:
        hatch(picture, part)
        picture.polygon(part, "missing")
    picture.polygon(eye.outline, "shape" if eye.is_ordered else "shape-kept")
    if eye.is_ordered:
        _draw_blank(picture, eye)
        _draw_zones(picture, eye)
    _draw_centring(picture, eye)
    if eye.thickest is not None:
        picture.circle(eye.place(*eye.thickest.in_up_mm), THICKEST_DOT_MM, "thickest")


def _draw_blank(picture: Picture, eye: EyeLayout) -> None:
    if eye.fit is None or eye.blank_centre is None:
        return
    picture.circle(eye.blank_centre, eye.fit.blank.diameter_mm / 2.0, "blank")
    picture.circle(eye.blank_centre, 0.4, "blank-centre")


def _draw_zones(picture: Picture, eye: EyeLayout) -> None:
    if eye.near_circle is not None and eye.reference is not None:
        middle, radius = eye.near_circle
        picture.circle(middle, radius, "near-circle")
        picture.line(eye.reference, middle, "corridor")
    design = eye.facts.design
    if design is not None and design.segment is not None and eye.reference is not None:
        draw_segment(picture, eye, design.segment)


def _draw_centring(picture: Picture, eye: EyeLayout) -> None:
    if eye.box is None or eye.pupil_x is None:
        return
    picture.line((eye.pupil_x, eye.box[2]), (eye.pupil_x, eye.box[3]), "pupil-line")
    if eye.pupil is not None:
        picture.circle(eye.pupil, PUPIL_RADIUS_MM, "pupil")
    if eye.reference is None or not eye.is_ordered:
        return
    x, y = eye.reference
    picture.arrow((eye.centre_x, 0.0), (x, y))
    picture.line((x - CROSS_ARM_MM, y), (x + CROSS_ARM_MM, y), "cross")
    if eye.facts.design is None or eye.facts.design.segment is None:
        picture.line((x, y - CROSS_ARM_MM), (x, y + CROSS_ARM_MM), "cross")


def _draw_sizes(picture: Picture, layout: PairLayout, headings: tuple[str, str]) -> None:
    left, right, bottom, top = picture.extent
    letters = picture.lettering
    _draw_box_sizes(picture, layout, left - 3.0, bottom - 1.3 - 3.2 * letters)
    _draw_pds(picture, layout, top + 3.0)
    _draw_height(picture, layout.right, left - 3.0 - 13.0 * letters)
    _draw_height(picture, layout.left, right + 2.0 + 11.0 * letters)
    _draw_headings(picture, headings, (left + 2.0, right - 2.0), top - 1.0)
    for eye in layout.eyes:
        _draw_notes(picture, eye, bottom - 1.3 - 7.2 * letters)
    misses = any(eye.fit is not None and not eye.fit.fits for eye in layout.eyes)
    _draw_scale_bar(picture, bottom - 1.3 - (20.5 if misses else 17.3) * letters)


def _draw_headings(
    picture: Picture,
    headings: tuple[str, str],
    places: tuple[float, float] | None = None,
    y: float | None = None,
) -> None:
    """What the eyes are called, at the outer upper corners."""
    left, right, _, top = picture.extent
    for heading, x in zip(headings, places or (left + 2.0, right - 2.0), strict=True):
        picture.text((x, top - 4.0 if y is None else y), heading, "eye")


def _draw_box_sizes(picture: Picture, layout: PairLayout, x: float, y: float) -> None:
    if layout.right.box is None or layout.left.box is None:
        return
    left, right, bottom, top = layout.right.box
    if layout.a_mm is not None:
        picture.dimension((left, y), (right, y), f"A {layout.a_mm:.1f}")
    if layout.b_mm is not None:
        picture.dimension((x, bottom), (x, top), f"B {layout.b_mm:.1f}", level=False)
    if layout.dbl_mm is not None:
        picture.dimension((right, y), (layout.left.box[0], y), f"DBL {layout.dbl_mm:.1f}")
        for side in (right, layout.left.box[0]):
            picture.line((side, bottom), (side, y - 1.0), "extension")


def _draw_pds(picture: Picture, layout: PairLayout, y: float) -> None:
    if layout.right.box is None or layout.dbl_mm is None:
        return
    picture.line((0.0, layout.right.box[2]), (0.0, y + 2.0), "axis-line")
    for eye in layout.eyes:
        pd, name = eye.facts.made.pd_mm, "near" if eye.facts.made.is_for_close_work else "PD"
        if eye.pupil_x is not None and eye.box is not None and pd is not None:
            picture.line((eye.pupil_x, eye.box[3]), (eye.pupil_x, y + 1.0), "extension")
            picture.dimension((0.0, y), (eye.pupil_x, y), f"{name} {pd:.1f}")


def _draw_height(picture: Picture, eye: EyeLayout, x: float) -> None:
    height = eye.facts.fitted.height_mm
    if height is None or eye.reference is None or eye.box is None or not eye.is_ordered:
        return
    for y in (eye.box[2], eye.reference[1]):
        picture.line((eye.reference[0], y), (x, y), "extension")
    picture.dimension((x, eye.box[2]), (x, eye.reference[1]), f"h {height:.1f}", level=False)


def _draw_notes(picture: Picture, eye: EyeLayout, y: float) -> None:
    """Below each lens: its blank, its decentration, and what is missing."""
    if not eye.is_ordered:
        picture.text((eye.centre_x, y), "lens kept", "note")
        return
    figures = eye.facts.figures
    if eye.reference is not None and figures.centre_in_mm is not None and figures.decentration_up_mm is not None:
        picture.text((eye.centre_x, y), _decentration(figures.centre_in_mm, figures.decentration_up_mm), "note")
    step = 3.2 * picture.lettering
    if eye.thickest is not None:
        below = 2.0 if eye.fit is None or eye.fit.fits else 3.0
        picture.text((eye.centre_x, y - below * step), f"thickest {eye.thickest.mm:.1f}", "note")
    if eye.fit is None:
        return
    needed = f"blank {eye.fit.blank.diameter_mm:.0f}, needs {eye.fit.needed_mm:.1f} mm"
    picture.text((eye.centre_x, y - step), needed, "blank-note")
    if not eye.fit.fits:
        picture.text((eye.centre_x, y - 2.0 * step), f"{eye.fit.shortfall_mm:.1f} mm short", "missing-note")


def _decentration(in_mm: float, up_mm: float) -> str:
    across = f"{abs(in_mm):.1f} {'in' if in_mm >= 0.0 else 'out'}"
    return f"decentration {across}, {abs(up_mm):.1f} {'up' if up_mm >= 0.0 else 'down'}"


def _draw_scale_bar(picture: Picture, y: float) -> None:
    half = SCALE_BAR_MM / 2.0
    picture.line((-half, y), (half, y), "scale")
    for step in range(0, SCALE_BAR_MM + 1, 10):
        picture.line((step - half, y), (step - half, y + (1.6 if step in (0, SCALE_BAR_MM) else 1.0)), "scale")
    picture.text((half + 2.0, y), f"{SCALE_BAR_MM} mm", "note", anchor="start")
