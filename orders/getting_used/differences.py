"""What differs between a pair and the one worn before it, each difference with its size and what is usually noticed.

The largest, measured by its own limit, comes first: there the conversation starts. This module must never say that
something *is* the cause.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from dispensing.optics.magnification import image_size_difference_percent
from dispensing.optics.prism import Prism, binocular_prism
from dispensing.trade.facts import data_file, figure
from orders.documents.lens_order import EYES, Eye
from orders.getting_used.pair_facts import EyeFacts, PairFacts

FELT_SHARE = figure("what-differs", "felt_share")
"""Differences below this share of their limit are making and reading, and are left out."""


@dataclass(frozen=True)
class Difference:
    """``before`` and ``now`` in ``unit``; ``change``: now less before, for astigmatism the length of the difference."""

    eye: Eye | Literal["both"]
    what: str
    before: float | None
    now: float | None
    change: float
    unit: str
    limit: float
    noticed: str
    source: str

    @property
    def weight(self) -> float:
        """The size in units of the limit."""
        return abs(self.change) / self.limit

    @property
    def is_likely(self) -> bool:
        """Whether it reaches the limit; both sides are rounded to a hundredth, as everywhere."""
        return round(abs(self.change), 2) >= round(self.limit, 2)


def differences(before: PairFacts, now: PairFacts) -> tuple[Difference, ...]:
    """Everything known of both pairs that differs, the most likely first."""
    found = [*_of_eyes(before, now), *_of_the_pair(before, now)]
    return tuple(sorted((one for one in found if one.weight >= FELT_SHARE), key=lambda one: -one.weight))


def _of_eyes(before: PairFacts, now: PairFacts) -> Iterator[Difference]:
    for eye in EYES:
        was, this = before.eye(eye), now.eye(eye)
        yield from _of_powers(eye, was, this)
        yield from _plain(eye, "base_curve", was.base_curve_d, this.base_curve_d)
        yield from _plain(eye, "corridor", was.corridor_mm, this.corridor_mm)
        if was.kind == this.kind:  # a height is of the cross, a segment top or a centre
            yield from _plain(eye, "height", was.height_mm, this.height_mm)
        yield from _plain(eye, "pd", was.pd_mm, this.pd_mm)
        yield from _size_of_image(eye, was, this)


def _of_powers(eye: Eye, was: EyeFacts, this: EyeFacts) -> Iterator[Difference]:
    if was.power is not None and this.power is not None:
        yield from _plain(eye, "mean_sphere", was.power.mean_sphere, this.power.mean_sphere)
        apart = this.power.vector() - was.power.vector()
        yield from _stated(eye, "astigmatism", None, None, (apart.j0**2 + apart.j45**2) ** 0.5)
        # A pair without an add has no figure for it; going from none to one is the change itself.
        if was.add_d is not None or this.add_d is not None:
            yield from _plain(eye, "add", was.add_d or 0.0, this.add_d or 0.0)


def _size_of_image(eye: Eye, was: EyeFacts, this: EyeFacts) -> Iterator[Difference]:
    before, now = was.magnifying, this.magnifying
    if before is not None and now is not None:
        sizes = [100.0 * (lens.magnification - 1.0) for lens in (before, now)]
        change = 100.0 * (now.magnification / before.magnification - 1.0)
        yield from _stated(eye, "image_size", sizes[0], sizes[1], change)


def _of_the_pair(before: PairFacts, now: PairFacts) -> Iterator[Difference]:
    yield from _plain("both", "tilt", before.tilt_deg, now.tilt_deg)
    yield from _plain("both", "face_form", before.face_form_deg, now.face_form_deg)
    was, this = _prism_of(before), _prism_of(now)
    if was is not None and this is not None:
        yield from _plain("both", "prism_in", was.in_pd, this.in_pd)
        yield from _plain("both", "prism_up", was.up_pd, this.up_pd)
    yield from _plain("both", "image_difference", _images_apart(before), _images_apart(now))


def _prism_of(pair: PairFacts) -> Prism | None:
    """What the two eyes have to overcome together; None if one eye's is not known."""
    if pair.right.prism is None or pair.left.prism is None:
        return None
    return binocular_prism(pair.right.prism, pair.left.prism)


def _images_apart(pair: PairFacts) -> float | None:
    right, left = pair.right.magnifying, pair.left.magnifying
    return None if right is None or left is None else image_size_difference_percent(right, left)


def _plain(eye: Eye | Literal["both"], key: str, before: float | None, now: float | None) -> Iterator[Difference]:
    if before is not None and now is not None:
        yield from _stated(eye, key, before, now, now - before)


def _stated(
    eye: Eye | Literal["both"], key: str, before: float | None, now: float | None, change: float
) -> Iterator[Difference]:
    row = data_file("getting_used")[key]
    limit = figure(*row["limit"])
    noticed = row["more"] if change >= 0.0 else row.get("less", row["more"])
    source = row.get("source", "common practice")
    yield Difference(eye, row["words"], before, now, change, row["unit"], limit, noticed, source)
