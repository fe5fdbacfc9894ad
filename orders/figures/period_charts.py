"""Charts of a period, by month or by group, as SVG in two sizes; beside each, the page has the same as a table.

Months stand side by side, groups below each other with their names. A share is a dot on its band.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from orders.figures.bands import Share
from orders.figures.drawing import BAND, INK, LOUD, SOFT, Drawing, drawing


class Size(StrEnum):
    WIDE = "wide"
    NARROW = "narrow"


WIDTHS_IN = {Size.WIDE: 7.2, Size.NARROW: 3.5}
MOST_MONTHS_NAMED = {Size.WIDE: 9, Size.NARROW: 4}
COLOURS, MARKS = (INK, LOUD, SOFT), ("o", "D", "s")


@dataclass(frozen=True, slots=True)
class Line:
    """One month or group. ``values``: shares, days, or counts, in the order of the legend; None: there is none."""

    name: str
    values: tuple[Share | int | None, ...]


@dataclass(frozen=True, slots=True)
class Plot:
    """What is drawn. ``legend``: the words of each value; ``axis``: what they are of, with the unit."""

    title: str
    description: str
    axis: str
    legend: tuple[str, ...]
    lines: tuple[Line, ...]
    months: bool


def shares_chart(plot: Plot, size: Size) -> str:
    """Each share as a dot on its band, in per cent."""
    with _sheet(plot, size) as chart:
        for number, words in enumerate(plot.legend):
            _draw_shares(chart.axes, plot, number, words)
        _scale(chart, plot, size)
    return chart.svg


def days_chart(plot: Plot, size: Size) -> str:
    """Two days a line, the median and the ninetieth centile, joined."""
    with _sheet(plot, size) as chart:
        for at, line in enumerate(plot.lines):
            if None not in line.values:
                _line(chart.axes, plot.months, [at, at], list(line.values), color=BAND, linewidth=4, zorder=0)
        for number, words in enumerate(plot.legend):
            found = [(at, line.values[number]) for at, line in enumerate(plot.lines) if line.values[number] is not None]
            _dots(chart.axes, plot.months, found, number, words)
        _scale(chart, plot, size)
    return chart.svg


def counts_chart(plot: Plot, size: Size) -> str:
    """Counts on top of each other, which together are all orders."""
    with _sheet(plot, size) as chart:
        below = [0] * len(plot.lines)
        for number, words in enumerate(plot.legend):
            counts = [int(line.values[number] or 0) for line in plot.lines]  # type: ignore[arg-type]  # counts here
            look = {"color": (BAND, SOFT, LOUD)[number], "label": words, "edgecolor": INK, "linewidth": 0.4}
            if plot.months:
                chart.axes.bar(range(len(counts)), counts, bottom=below, **look)
            else:
                chart.axes.barh(range(len(counts)), counts, left=below, **look)
            below = [one + more for one, more in zip(below, counts, strict=True)]
        _scale(chart, plot, size)
    return chart.svg


def _sheet(plot: Plot, size: Size) -> AbstractContextManager[Drawing]:
    height = 2.6 if plot.months else 1.0 + 0.34 * max(1, len(plot.lines))
    return drawing(WIDTHS_IN[size], height, plot.title, plot.description)


def _draw_shares(axes: Any, plot: Plot, number: int, words: str) -> None:
    shift = 0.14 * (number - (len(plot.legend) - 1) / 2)
    dots = []
    for at, line in enumerate(plot.lines):
        share = line.values[number]
        if isinstance(share, Share) and share.share is not None and share.band is not None:
            ends = [100.0 * end for end in share.band]
            _line(axes, plot.months, [at + shift] * 2, ends, color=COLOURS[number], linewidth=1.2)
            dots.append((at + shift, 100.0 * share.share))
    _dots(axes, plot.months, dots, number, words)


def _line(axes: Any, upright: bool, at: Sequence[float], values: Sequence[Any], **look: Any) -> None:
    axes.plot(at, values, **look) if upright else axes.plot(values, at, **look)


def _dots(axes: Any, upright: bool, found: Sequence[tuple[float, Any]], number: int, words: str) -> None:
    at, values = [place for place, _ in found], [value for _, value in found]
    look = {"color": COLOURS[number], "marker": MARKS[number], "markersize": 4, "linestyle": "none", "label": words}
    _line(axes, upright, at, values, **look)


def _scale(chart: Drawing, plot: Plot, size: Size) -> None:
    axes, names = chart.axes, [line.name for line in plot.lines]
    if plot.months:
        every = -(-len(names) // MOST_MONTHS_NAMED[size])
        axes.set_xticks(range(0, len(names), every), names[::every])
        axes.set_xlim(-0.6, len(names) - 0.4)
        axes.set_ylim(bottom=0.0)
        axes.set_ylabel(plot.axis)
    else:
        axes.set_yticks(range(len(names)), names)
        axes.set_ylim(len(names) - 0.4, -0.6)
        axes.set_xlim(left=0.0)
        axes.set_xlabel(plot.axis)
    if len(plot.legend) > 1:
        chart.figure.legend(loc="outside upper left", ncols=len(plot.legend), frameon=False, handletextpad=0.4)
    chart.figure.set_layout_engine("constrained")
