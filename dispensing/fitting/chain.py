"""The whole chain from uncertain inputs to figures, over a batch of variants, with the resulting ±.

It joins the photos (the side photo's vertex distance serves the front photo) and must never know about plausibility
or wording. Propagation is by derivative through the whole chain: each input is moved by a thousandth of its spread to
either side, all variants go through the chain in one batch, and the variances add.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from dispensing.fitting.anatomy import USUAL_NEAR_DISTANCE_MM
from dispensing.fitting.arrays import Columns, Figures, FloatArray
from dispensing.fitting.comparisons import comparison_figures
from dispensing.fitting.documents import FittingPoints, FrontPhoto
from dispensing.fitting.front import FrontSetup, front_figures
from dispensing.fitting.inputs import Input
from dispensing.fitting.side import side_figures
from dispensing.fitting.worn_lens import worn_before

COVERAGE_FACTOR = 1.96
"""Standard deviations in the stated ±: 95 % of a normal distribution."""

STEP = 1e-3
"""Half the step of a derivative, in spreads of the input (in its own unit where the spread is zero)."""


OF_A_KNOWN_DISTANCE = ("camera_distance_mm", "camera_above_eyes_mm", "camera_sideways_mm", "head_turn_deg")
"""Not stated where the distance is only what is usual."""


@dataclass(frozen=True)
class Propagated:
    """Figures with their spreads. ``slopes``: figures × inputs, the derivative of each figure by each input."""

    figures: tuple[str, ...]
    inputs: tuple[Input, ...]
    values: FloatArray
    slopes: FloatArray

    @cached_property
    def sd(self) -> FloatArray:
        """One standard deviation of each figure."""
        total: FloatArray = np.sqrt(np.sum(self._variances, axis=1))
        return total

    @cached_property
    def shares(self) -> dict[str, FloatArray]:
        """For each source, the share of each figure's variance that it causes (0 to 1)."""
        sources = sorted({one.source for one in self.inputs})
        members = np.array([[one.source == source for one in self.inputs] for source in sources], dtype=float)
        with np.errstate(invalid="ignore", divide="ignore"):
            parts = (self._variances @ members.reshape(len(sources), len(self.inputs)).T) / np.square(self.sd)[
                :, np.newaxis
            ]
        return {source: parts[:, column] for column, source in enumerate(sources)}

    @cached_property
    def _variances(self) -> FloatArray:
        spreads = np.array([one.sd for one in self.inputs])
        with np.errstate(over="ignore", invalid="ignore"):  # an absurdly large spread leaves its figures unstated
            variances: FloatArray = np.square(self.slopes * spreads)
        return variances


def run_chain(points: FittingPoints, columns: Columns, size: int) -> Figures:
    """All figures for a batch of ``size`` variants of the inputs (``columns``: name → values)."""
    figures: Figures = {}
    with np.errstate(all="ignore"):
        if points.side is not None:
            figures |= side_figures(columns)
        if points.front is not None:
            vertex, tilt = (figures.get(name, np.full(size, np.nan)) for name in ("vertex_mm", "pantoscopic_deg"))
            figures |= front_figures(columns, front_setup(points.front, points.near_distance_mm), vertex, tilt)
            figures |= comparison_figures(figures, columns)
            if points.front.focal_px is None and points.front.camera_distance_mm is None:
                figures |= {name: np.full(size, np.nan) for name in OF_A_KNOWN_DISTANCE}
    return figures


def front_setup(front: FrontPhoto, near_distance_mm: float | None) -> FrontSetup:
    """What is certain about the front photo; NaN where it is not stated."""
    width, height = front.width_px, front.height_px
    return FrontSetup(
        middle_px=complex(np.nan if width is None else width / 2, np.nan if height is None else height / 2),
        gaze=front.gaze,
        between_box_centres=front.scale is not None and front.scale.by == "frame",
        near_distance_mm=_possible_near_distance_mm(near_distance_mm),
        looked_at_mm=complex(-(front.gaze_in_mm or 0.0), front.gaze_up_mm or 0.0),
        worn=worn_before(front),
    )


def _possible_near_distance_mm(given_mm: float | None) -> float:
    if given_mm is None:
        return USUAL_NEAR_DISTANCE_MM
    return given_mm if given_mm > 0 else np.nan


def propagate(points: FittingPoints, inputs: Sequence[Input]) -> Propagated:
    """Every figure for the marks as made, and its derivative by every input, in one pass through the chain."""
    count = len(inputs)
    values = np.array([one.value for one in inputs])
    steps = np.array([STEP * one.sd if one.sd > 0 else STEP for one in inputs])
    batch = np.tile(values, (2 * count + 1, 1))
    ahead, behind = np.arange(1, count + 1), np.arange(count + 1, 2 * count + 1)
    batch[ahead, np.arange(count)] += steps
    batch[behind, np.arange(count)] -= steps
    columns = {one.name: batch[:, index] for index, one in enumerate(inputs)}
    figures = run_chain(points, columns, len(batch))
    table = np.array([figures[name] for name in figures]).reshape(len(figures), len(batch))
    with np.errstate(all="ignore"):
        slopes = (table[:, ahead] - table[:, behind]) / (2 * steps)
    return Propagated(tuple(figures), tuple(inputs), table[:, 0], np.where(np.isnan(slopes), 0.0, slopes))
