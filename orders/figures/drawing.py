"""What all charts share: matplotlib with our settings, and SVG with a title and a description in words.

It is only loaded when something is drawn: it takes a second, and most processes never need it.
"""

from __future__ import annotations

import io
from contextlib import contextmanager
from functools import cache
from threading import Lock
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

if TYPE_CHECKING:
    from collections.abc import Iterator

INK, SOFT, BAND, LOUD = "#12232b", "#5b6b73", "#cfe3e8", "#b3261e"
SETTINGS: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "figures",
    "font.family": "sans-serif",
    "font.size": 8,
    "text.parse_math": False,  # a name with dollar signs is a name
}

# It keeps fonts for the whole process and says of itself that threads must not share it.
_ONE_AT_A_TIME = Lock()


class Drawing:
    """One chart while it is drawn; ``svg`` is there once it is finished."""

    def __init__(self, figure: Any) -> None:
        self.figure, self.axes, self.svg = figure, figure.add_subplot(), ""
        for side in ("top", "right"):
            self.axes.spines[side].set_visible(False)


@contextmanager
def drawing(width: float, height: float, title: str, description: str) -> Iterator[Drawing]:
    """A chart of so many inches. ``title`` and ``description``: what a screen reader says of the picture."""
    with _ONE_AT_A_TIME:
        chart = Drawing(_figures()(figsize=(width, height)))
        yield chart
        chart.svg = _told(_svg(chart.figure), title, description)


@cache
def _figures() -> Any:
    """What makes figures, with our settings; nothing else in the project draws with it."""
    import matplotlib
    from matplotlib.figure import Figure

    matplotlib.rcParams.update(SETTINGS)
    return Figure


def _svg(figure: Any) -> str:
    written = io.StringIO()
    figure.savefig(written, format="svg", metadata={"Date": None, "Creator": None})
    return written.getvalue()


def _told(svg: str, title: str, description: str) -> str:
    """The picture with its words, which name it."""
    start = svg.index("<svg ")
    end = svg.index(">", start)
    words = f'<title id="title">{escape(title)}</title><desc id="description">{escape(description)}</desc>'
    named = f'{svg[start:end]} role="img" aria-labelledby="title description">'
    return svg[:start] + named + words + svg[end + 1 :]
