"""Each lab's hand as tables for pages and CSV: the same rows, the same words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse

from dispensing.spreadsheets import MINUS
from orders.figures.hand import Hand

DASH = "–"


@dataclass(frozen=True)
class HandRow:
    """One lab, design and quantity in words. ``chart``: the address of its picture."""

    lab: str
    design: str
    quantity: str
    count: int
    bias: str
    band: str
    spread: str
    said: str
    speaks: bool
    is_off: bool
    chart: str
    page: str


def hand_rows(found: Iterable[Hand], months: str) -> list[HandRow]:
    """Those outside their limits first."""
    rows = [_hand_row(hand, months) for hand in found]
    return sorted(rows, key=lambda row: (not row.speaks, not row.is_off))


def _hand_row(hand: Hand, months: str) -> HandRow:
    mean = hand.mean
    asked = urlencode({"lab": hand.lab, "design": hand.design, "quantity": hand.quantity, "months": months})
    return HandRow(
        hand.lab,
        hand.design or "All designs",
        hand.words,
        mean.count,
        _signed(mean.mean, hand.unit),
        f"{_signed(mean.band[0])} to {_signed(mean.band[1], hand.unit)}" if mean.band else DASH,
        DASH if mean.spread is None else f"{mean.spread:.2f} {hand.unit}",
        hand.said,
        hand.speaks,
        mean.is_off,
        f"{reverse('lab-hand-chart')}?{asked}",
        f"{reverse('lab-hand-pairs')}?{asked}",
    )


HAND_HEADS = ("Lab", "Design", "Quantity", "Pairs", "Found less ordered", "Band", "Spread", "Chart")


def hand_table(rows: Sequence[HandRow]) -> list[list[str]]:
    return [
        [row.lab, row.design, row.quantity, str(row.count), row.bias, row.band, row.spread, row.said] for row in rows
    ]


PAIR_HEADS = ("Order", "Read on", "Found less ordered", "Average", "Limits", "Outside")


def pair_table(hand: Hand) -> list[list[str]]:
    """The pairs of one chart, oldest first."""
    sigma, points = hand.sigma, hand.points
    limit = f"± {hand.scheme.limit * sigma:.3f} {hand.unit}" if sigma else DASH
    averages = [_signed(point.average * (sigma or 0.0), hand.unit, 3) for point in points] or [DASH] * len(hand.pairs)
    outside = ["yes" if point.speaks else "no" for point in points] or [DASH] * len(hand.pairs)
    return [
        [pair.number, f"{pair.on.day} {pair.on:%b %Y}", _signed(pair.error, hand.unit, 3), average, limit, out]
        for pair, average, out in zip(hand.pairs, averages, outside, strict=True)
    ]


def _signed(value: float, unit: str = "", places: int = 2) -> str:
    return f"{value:+.{places}f} {unit}".strip().replace("-", MINUS)
