"""Charts of a lab's hand as SVG, to stand in an ``img``; beside each, the page has the same as a table."""

from __future__ import annotations

from typing import Any

from orders.figures.drawing import BAND, INK, LOUD, SOFT, drawing
from orders.figures.hand import Hand


def drift_chart(hand: Hand) -> str:
    """Each pair as a dot and their average as a line, in the quantity's unit, with the limits as a band. Pairs for
    which the average lies outside stand out by their shape too.
    """
    title = f"{hand.words}, {hand.lab}, {hand.design or 'all designs'}"
    with drawing(4.6, 1.7, title, f"{hand.mean.count} pairs, oldest first. {hand.said}") as chart:
        chart.figure.subplots_adjust(left=0.15, right=0.98, top=0.95, bottom=0.27)
        _draw_drift(chart.axes, hand)
    return chart.svg


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
