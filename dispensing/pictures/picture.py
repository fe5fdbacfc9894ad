"""A picture in mm with y up, written as SVG, where y runs down. The only place that knows SVG.

Every element carries a class (``drawing-blank``) for pages and, for paper, presentation attributes, over
which a page's own styles win. Must never know what is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from xml.etree import ElementTree as ET

Point = tuple[float, float]

INK, GREY, PALE, BLUE, RED = "#111111", "#666666", "#bbbbbb", "#1f5f99", "#b00020"
FONT = "DejaVu Sans, sans-serif"
TEXT_MM = 2.5
ARROW_MM = 1.6

STYLES: dict[str, dict[str, str]] = {
    "shape": {"fill": "none", "stroke": INK, "stroke-width": "0.5", "stroke-linejoin": "round"},
    "shape-kept": {"fill": "none", "stroke": PALE, "stroke-width": "0.5", "stroke-linejoin": "round"},
    "box": {"fill": "none", "stroke": PALE, "stroke-width": "0.2", "stroke-dasharray": "1 1"},
    "axis-line": {"stroke": PALE, "stroke-width": "0.15", "stroke-dasharray": "3 1 0.6 1"},
    "ed-circle": {"fill": "none", "stroke": GREY, "stroke-width": "0.2", "stroke-dasharray": "2 1"},
    "blank": {"fill": "none", "stroke": BLUE, "stroke-width": "0.35"},
    "blank-centre": {"fill": BLUE, "stroke": "none"},
    "thickest": {"fill": INK, "stroke": "none"},
    "missing": {"fill": "none", "stroke": RED, "stroke-width": "0.4"},
    "hatch": {"stroke": RED, "stroke-width": "0.25"},
    "pupil": {"fill": "none", "stroke": GREY, "stroke-width": "0.25"},
    "pupil-line": {"stroke": GREY, "stroke-width": "0.2", "stroke-dasharray": "1.2 0.8"},
    "cross": {"stroke": INK, "stroke-width": "0.4"},
    "near-circle": {"fill": "none", "stroke": INK, "stroke-width": "0.3"},
    "corridor": {"stroke": INK, "stroke-width": "0.2", "stroke-dasharray": "0.8 0.8"},
    "segment": {"fill": "none", "stroke": INK, "stroke-width": "0.35"},
    "arrow": {"stroke": BLUE, "stroke-width": "0.3", "fill": BLUE},
    "measure": {"stroke": GREY, "stroke-width": "0.2", "fill": GREY},
    "extension": {"stroke": PALE, "stroke-width": "0.15"},
    "scale": {"stroke": INK, "stroke-width": "0.35"},
    "allowed": {"fill": "#dff0e4", "fill-opacity": "0.7", "stroke": "#1b5a33", "stroke-width": "0.3"},
    "found": {"fill": BLUE, "stroke": "none"},
    "doubt": {"fill": "none", "stroke": BLUE, "stroke-width": "0.25", "stroke-dasharray": "0.8 0.6"},
    "lens-section": {"fill": "#e8eef4", "stroke": INK, "stroke-width": "0.25", "stroke-linejoin": "round"},
}
TEXT_STYLES: dict[str, dict[str, str]] = {
    "figure": {"fill": INK, "font-size": f"{TEXT_MM}"},
    "note": {"fill": GREY, "font-size": "2.2"},
    "blank-note": {"fill": BLUE, "font-size": "2.2"},
    "missing-note": {"fill": RED, "font-size": "2.5", "font-weight": "bold"},
    "eye": {"fill": INK, "font-size": "5", "font-weight": "bold"},
    "figure-large": {"fill": INK, "font-size": "4.6"},
    "note-large": {"fill": GREY, "font-size": "4"},
}

# Already large on paper: these stay the same when the lettering is enlarged.
LARGE_ENOUGH = frozenset({"eye", "figure-large", "note-large"})


def number(value: float) -> str:
    """A coordinate with at most three decimals and never ``-0``."""
    return f"{round(value, 3) + 0.0:.3f}".rstrip("0").rstrip(".")


class Picture:
    """Collects elements; `svg` fits the picture round everything drawn. Points are (x, y) in mm, y up.

    lettering: how many times larger than on paper all text is, for a screen on which the picture is small.
    """

    def __init__(self, lettering: float = 1.0) -> None:
        self.lettering = lettering
        self._root = ET.Element("g", {"font-family": FONT})
        self._low = [math.inf, math.inf]
        self._high = [-math.inf, -math.inf]

    def line(self, start: Point, end: Point, kind: str) -> None:
        self._reach(start, end)
        (x1, y1), (x2, y2) = start, end
        self._add("line", kind, {"x1": number(x1), "y1": number(-y1), "x2": number(x2), "y2": number(-y2)})

    def circle(self, centre: Point, radius: float, kind: str) -> None:
        x, y = centre
        self._reach((x - radius, y - radius), (x + radius, y + radius))
        self._add("circle", kind, {"cx": number(x), "cy": number(-y), "r": number(radius)})

    def polygon(self, points: Iterable[Sequence[float]], kind: str) -> None:
        self._poly("polygon", points, kind)

    def polyline(self, points: Iterable[Sequence[float]], kind: str) -> None:
        self._poly("polyline", points, kind)

    def arrow(self, start: Point, end: Point, kind: str = "arrow") -> None:
        """A line with its head at `end`; if it is too short there is no line, only the place of the head."""
        way = math.dist(start, end)
        if way < 0.05:
            return
        self.line(start, end, kind)
        head = min(ARROW_MM, way)
        back = ((start[0] - end[0]) / way * head, (start[1] - end[1]) / way * head)
        side = (-back[1] * 0.3, back[0] * 0.3)
        foot = (end[0] + back[0], end[1] + back[1])
        self.polygon([end, (foot[0] + side[0], foot[1] + side[1]), (foot[0] - side[0], foot[1] - side[1])], kind)

    def dimension(self, start: Point, end: Point, label: str, *, level: bool = True) -> None:
        """A dimension line with a head at each end and its figure above it (level) or to its left (upright)."""
        middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
        self.arrow(middle, start, "measure")
        self.arrow(middle, end, "measure")
        if level:
            self.text((middle[0], middle[1] + 0.8), label)
        else:
            # Above the middle, where the height line of the other dimension does not run through the figure.
            higher = (end[1] - start[1]) * 0.2
            self.text((middle[0] - 0.8, middle[1] + higher - TEXT_MM * self.lettering * 0.35), label, anchor="end")

    def text(self, at: Point, text: str, kind: str = "figure", anchor: str = "middle") -> None:
        style = TEXT_STYLES[kind]
        size = float(style["font-size"]) * (1.0 if kind in LARGE_ENOUGH else self.lettering)
        # Close enough for working out the picture's bounds: the letters of the font are 0.62 em wide on average.
        wide = 0.62 * size * len(text)
        left = {"middle": -wide / 2.0, "start": 0.0, "end": -wide}[anchor]
        self._reach((at[0] + left, at[1] - 0.25 * size), (at[0] + left + wide, at[1] + size))
        where = {"x": number(at[0]), "y": number(-at[1]), "text-anchor": anchor}
        self._add("text", kind, where, {**style, "font-size": number(size)}).text = text

    def reach(self, *points: Point) -> None:
        """Make the picture reach as far as these points although nothing is drawn there."""
        self._reach(*points)

    def svg(self, *, title: str, description: str, scale: float = 1.0, margin: float = 1.0) -> str:
        """The whole picture, `scale` times life size on paper. Screen readers read out the title and description."""
        low = (self._low[0] - margin, self._low[1] - margin) if self.drawn else (0.0, 0.0)
        high = (self._high[0] + margin, self._high[1] + margin) if self.drawn else (1.0, 1.0)
        wide, tall = high[0] - low[0], high[1] - low[1]
        root = ET.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "class": "drawing",
                "role": "img",
                "viewBox": " ".join(number(value) for value in (low[0], -high[1], wide, tall)),
                "width": f"{number(wide * scale)}mm",
                "height": f"{number(tall * scale)}mm",
            },
        )
        ET.SubElement(root, "title").text = title
        ET.SubElement(root, "desc").text = description
        root.append(self._root)
        return ET.tostring(root, encoding="unicode")

    @property
    def drawn(self) -> bool:
        """Whether anything has been drawn in the picture yet."""
        return math.isfinite(self._low[0])

    @property
    def extent(self) -> tuple[float, float, float, float]:
        """Left, right, bottom and top of everything drawn so far, mm."""
        return self._low[0], self._high[0], self._low[1], self._high[1]

    def _poly(self, tag: str, points: Iterable[Sequence[float]], kind: str) -> None:
        corners = [(float(x), float(y)) for x, y in points]
        self._reach(*corners)
        self._add(tag, kind, {"points": " ".join(f"{number(x)},{number(-y)}" for x, y in corners)})

    def _reach(self, *points: Point) -> None:
        for point in points:
            for i in (0, 1):
                self._low[i] = min(self._low[i], point[i])
                self._high[i] = max(self._high[i], point[i])

    def _add(self, tag: str, kind: str, where: dict[str, str], style: dict[str, str] | None = None) -> ET.Element:
        look = STYLES[kind] if style is None else style
        return ET.SubElement(self._root, tag, {"class": f"drawing-{kind}", **look, **where})
