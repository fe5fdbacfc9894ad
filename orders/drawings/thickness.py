"""Cross-sections of the lenses along the horizontal through the prism reference point, to scale.

One section for each eye, front upwards, laid out as seen from above with the nose in the middle. This module must
never compute a thickness itself.
"""

from __future__ import annotations

import numpy as np

from dispensing.optics.arrays import FloatArray
from dispensing.optics.errors import OpticsError
from dispensing.optics.lens_body import LensBody
from dispensing.optics.surface import sag
from dispensing.pictures.picture import TEXT_MM, Picture
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder
from orders.drawings.layout import EyeLayout, PairLayout, pair_layout

STEPS = 60
FINE_MM = 0.05
GAP_MM = 12.0
SECTION = "Cross-sections along the horizontal through the prism reference point"
LEGEND = f"{SECTION}, seen from above, in mm: the front of the lens is up, the nose is in the middle."
FIGURE_MM = 4.0
"""Room for half of the figure at an end of a section."""


def thickness_drawing(
    order: LensOrder,
    catalogue: LensCatalogue | None = None,
    *,
    headings: tuple[str, str] = ("R", "L"),
    scale: float = 1.0,
    layout: PairLayout | None = None,
    lettering: float = 1.0,
    one_width: bool = False,
) -> str:
    """Both cross-sections as SVG text; empty text if no lens body can be worked out.

    layout: where everything lies, if already worked out; `catalogue` is then not read. lettering: how much larger the
    text is than on paper. one_width: as wide for every lens in this frame, so that several drawn as wide as each other
    are at one scale.
    """
    layout = layout or pair_layout(order, catalogue)
    picture, words = Picture(lettering), []
    if one_width and layout.a_mm is not None:
        half = GAP_MM / 2.0 + layout.a_mm + FIGURE_MM * lettering
        picture.reach((-half, 0.0), (half, 0.0))
    for eye, heading in zip(layout.eyes, headings, strict=True):
        body = eye.body
        section = None if body is None else _section(body)
        if body is None or section is None:
            continue
        _draw_section(picture, eye, heading, body, section)
        nasal, temporal = _edge(section, -1), _edge(section, 0)
        words.append(
            f"{eye.eye.capitalize()} lens {body.centre_thickness_mm:.1f} mm at the centre; in this section "
            f"{nasal:.1f} mm at the nose and {temporal:.1f} mm at the temple; all round its edge "
            f"{body.edge_min_mm:.1f} to {body.edge_max_mm:.1f} mm."
        )
    if not words:
        return ""
    return picture.svg(title=SECTION, description=" ".join(words), scale=scale)


def _section(body: LensBody) -> FloatArray | None:
    """Rows of (in from the boxed centre, front depth, back depth) in mm, depths + towards the eye from the apex."""
    upwards = body.reference_in_up_mm[1]
    places = body.shape.points_in_up()
    fine = np.arange(places[:, 0].min(), places[:, 0].max(), FINE_MM)
    within = fine[body.shape.contains(fine, np.full(fine.size, upwards))]
    if within.size < 2:
        return None
    across = np.linspace(within[0], within[-1], STEPS)
    try:
        front = sag(body.front_curvature, np.square(across - body.reference_in_up_mm[0]))
        thickness = body.thickness_at(across, np.full(across.size, upwards))
    except OpticsError:
        return None
    return np.stack([across, front, front + thickness], axis=1)


def _draw_section(picture: Picture, eye: EyeLayout, heading: str, body: LensBody, section: FloatArray) -> None:
    half = (section[-1, 0] - section[0, 0]) / 2.0
    shift = -eye.in_sign * (GAP_MM / 2.0 + half) - eye.in_sign * (section[0, 0] + section[-1, 0]) / 2.0
    x = shift + eye.in_sign * section[:, 0]
    front = np.stack([x, -section[:, 1]], axis=1)
    back = np.stack([x, -section[:, 2]], axis=1)[::-1]
    picture.polygon(np.concatenate([front, back]), "lens-section")
    top = float(front[:, 1].max())
    picture.text((float(x.mean()), top + 1.5), f"{heading}  centre {body.centre_thickness_mm:.1f}", "figure")
    line = TEXT_MM * picture.lettering
    for end, side in ((0, "temporal"), (-1, "nasal")):
        low = float(-section[end, 2]) - 0.7 - line
        picture.text((float(x[end]), low), f"{_edge(section, end):.1f}", "figure")
        picture.text((float(x[end]), low - 1.2 * line), side, "note", anchor=_towards_the_middle(eye, end))


def _towards_the_middle(eye: EyeLayout, end: int) -> str:
    """The anchor of a word at an end of the section, so that it lies under the section and not beside it."""
    return "start" if (eye.eye == "right") == (end == 0) else "end"


def _edge(section: FloatArray, end: int) -> float:
    """The thickness in mm at an end of the section: its first row is at the temple, its last at the nose."""
    return float(section[end, 2] - section[end, 1])
