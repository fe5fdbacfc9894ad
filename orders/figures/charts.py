"""Charts of a lab's hand and of remakes as SVG, to stand in an ``img``; beside each, the page has the same as a table.

Drawn by matplotlib, which is only loaded when something is drawn: it takes a second, and most processes never need it.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import cache
from threading import Lock
from typing import Any

from orders.figures.hand import Hand
from orders.figures.remade import Row

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


def drift_chart(hand: Hand) -> str:
    """Each pair as a dot and their average as a line, in the quantity's unit, with the limits as a band. Pairs for
    which the average lies outside stand out by their shape too.
    """
    with _ONE_AT_A_TIME:
        figure, axes = _empty(4.6, 1.7)
        figure.subplots_adjust(left=0.15, right=0.98, top=0.95, bottom=0.27)
        _draw_drift(axes, hand)
        return _svg(figure)


def _draw_drift(axes: Any, hand: Hand) -> None:
    sigma, points = hand.sigma or 1.0, hand.points
    limit = hand.scheme.limit * sigma
    numbers = range(1, len(hand.pairs) + 1)
    if points:
        axes.axhspan(-limit, limit, color=BAND, zorder=0)
        axes.plot(numbers, [point.average * sigma for point in points], color=INK, linewidth=1.4)
        loud = [number for number, point in zip(numbers, points, strict=True) if point.speaks]
        axes.plot(loud, [points[number - 1].average * sigma for number in loud], "D", color=LOUD, markersize=4)
    axes.plot(numbers, [pair.error for pair in hand.pairs], ".", color=SOFT, markersize=4)
    axes.axhline(0.0, color=SOFT, linewidth=0.7)
    axes.set_xlabel("Pairs, oldest first")
    axes.set_ylabel(f"Found − ordered, {hand.unit}")


def shares_chart(rows: Sequence[Row], heading: str) -> str:
    """The share made again in each group as a dot on its band, in per cent; diamonds are mistakes alone."""
    with _ONE_AT_A_TIME:
        figure, axes = _empty(5.2, 0.7 + 0.34 * max(1, len(rows)))
        figure.set_layout_engine("constrained")
        _draw_shares(axes, rows, heading)
        return _svg(figure)


def _draw_shares(axes: Any, rows: Sequence[Row], heading: str) -> None:
    for at, row in enumerate(rows):
        for share, mark, colour, shift in ((row.remade, "o", INK, -0.12), (row.mistakes, "D", LOUD, 0.12)):
            if share.share is not None and share.band is not None:
                low, high = (100.0 * end for end in share.band)
                axes.plot([low, high], [at + shift, at + shift], color=colour, linewidth=1.2)
                axes.plot([100.0 * share.share], [at + shift], mark, color=colour, markersize=4)
    axes.set_yticks(range(len(rows)), [f"{row.name} ({row.remade.count})" for row in rows])
    axes.invert_yaxis()
    axes.set_xlim(left=0.0)
    axes.set_xlabel(f"Made again, % of pairs, by {heading}")


def _empty(width: float, height: float) -> tuple[Any, Any]:
    figure = _figures()(figsize=(width, height))
    axes = figure.add_subplot()
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return figure, axes


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
