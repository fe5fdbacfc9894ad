"""Lens bodies by the thousand: the figures of `lens_body` for many lenses at once, in arrays.

The lenses are worked a few at a time, so that their corners stay in the processor's cache; only where a centre has to
be thickened for a thin edge are all lenses solved together, one corner each. Like `lens_body`, this module must never
know about catalogues or orders.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dispensing.optics.arrays import FloatArray, as_numbers, require_all
from dispensing.optics.boxing import LensShape
from dispensing.optics.edge import MOST_ROUNDS, EdgePlaces, thickened, thinner_than, too_thick
from dispensing.optics.errors import OpticsError
from dispensing.optics.lens_forms import (
    LensForms,
    corners_from,
    lens_forms,
    minimum_limits,
    one_a_lens,
)
from dispensing.optics.thinnest import thickened_inside
from dispensing.optics.volume import volumes

CHUNK = 48
"""Lenses worked at a time: enough that the cost of numpy's calls does not matter, few enough to stay in cache."""

KEPT_BYTES = 8_000_000


@dataclass(frozen=True, eq=False)
class LensBodies:
    """Many edged lenses, one per entry; each array has shape (lenses,): mm, mm³ and g."""

    centre_thickness_mm: FloatArray
    thinnest_mm: FloatArray
    edge_min_mm: FloatArray
    edge_max_mm: FloatArray
    volume_mm3: FloatArray
    weight_g: FloatArray


@dataclass(frozen=True, eq=False)
class _Batch:
    """All lenses: shapes (one for all, or one each), surfaces, reference points and limits of shape (lenses, 1)."""

    shapes: Sequence[LensShape]
    forms: LensForms
    reference_x: FloatArray
    reference_y: FloatArray
    minimum_edge: FloatArray

    def corners(self, rows: NDArray[np.intp]) -> EdgePlaces:
        """The corners of some of the lenses."""
        shapes = self.shapes if len(self.shapes) == 1 else [self.shapes[row] for row in rows]
        forms = self.forms.chosen(rows)
        places = corners_from(shapes, self.reference_x[rows], self.reference_y[rows])
        return EdgePlaces(forms, *forms.in_own_directions(*places))


def lens_bodies(
    shapes: LensShape | Sequence[LensShape],
    *,
    sphere: ArrayLike,
    cylinder: ArrayLike,
    axis_deg: ArrayLike,
    index: ArrayLike,
    density_g_cm3: ArrayLike,
    front_curve_d: ArrayLike,
    min_centre_mm: ArrayLike,
    min_edge_mm: ArrayLike,
    reference_in_mm: ArrayLike = 0.0,
    reference_up_mm: ArrayLike = 0.0,
    prism_in: ArrayLike = 0.0,
    prism_up: ArrayLike = 0.0,
) -> LensBodies:
    """Many lenses at once, with the same figures as `lens_body` gives.

    shapes: one shape for all, or one per lens, all with the same number of radii. Every other argument: one number, or
    one per lens, units as in `lens_body`. Raises OpticsError when any lens cannot be made, naming the first such lens
    where it is able to.
    """
    row = [shapes] if isinstance(shapes, LensShape) else list(shapes)
    numbers = (sphere, cylinder, axis_deg, index, density_g_cm3, front_curve_d, min_centre_mm, min_edge_mm)
    lenses = max(len(row), *(np.size(v) for v in (*numbers, reference_in_mm, reference_up_mm, prism_in, prism_up)))
    if len({shape.count for shape in row}) != 1 or len(row) not in (1, lenses):
        allowed = f"one, or {lenses} with equally many radii each"
        raise OpticsError("number of shapes", len(row), "", allowed, "Resample the shapes to one number of radii.")
    in_sign = [shape.in_sign for shape in row]
    forms = lens_forms(
        lenses,
        sphere=sphere,
        cylinder=cylinder,
        axis_deg=axis_deg,
        index=index,
        front_curve_d=front_curve_d,
        prism_x=np.multiply(as_numbers("prism", prism_in, "Δ"), in_sign),
        prism_y=prism_up,
    )
    density = require_all("density", density_g_cm3, "g/cm³", 0.5, 10.0)
    minimum_centre, minimum_edge = minimum_limits(lenses, min_centre_mm, min_edge_mm)
    reference_in, reference_up = (
        one_a_lens(require_all("reference point", value, "mm", -200.0, 200.0), lenses)
        for value in (reference_in_mm, reference_up_mm)
    )
    reference_x = reference_in * np.reshape(in_sign, (-1, 1))
    batch = _Batch(row, forms, reference_x, reference_up, minimum_edge)
    centre, thinnest, edge_min, edge_max, volume = _worked(batch, minimum_centre)
    return LensBodies(centre, thinnest, edge_min, edge_max, volume, volume * density / 1000.0)


def _let_memory_be_kept() -> None:
    """Allocate and free one large array; after that, glibc keeps the memory of smaller ones for reuse.

    Otherwise it returns each chunk's arrays to the system, and clearing them again takes as long as the arithmetic.
    """
    np.empty(KEPT_BYTES, dtype=np.uint8)


def _worked(batch: _Batch, minimum_centre: FloatArray) -> FloatArray:
    """Centre, least thickness, least and greatest edge and volume of every lens, shape (5, lenses)."""
    _let_memory_be_kept()
    found = np.empty((5, len(minimum_centre)))
    # Turned backs take longer, so lenses with a prism are worked by themselves.
    turned = batch.forms.slope[:, 0] > 0.0
    for rows in (np.flatnonzero(~turned), np.flatnonzero(turned)):
        if rows.size:
            _work_alike(batch, minimum_centre, rows, found)
    return found


def _work_alike(batch: _Batch, minimum_centre: FloatArray, pending: NDArray[np.intp], found: FloatArray) -> None:
    """Work lenses that all have a prism, or all have none."""
    centre = minimum_centre.copy()
    for _ in range(MOST_ROUNDS):
        thin, along, across, least = [], [], [], []
        for start in range(0, len(pending), CHUNK):
            rows = pending[start : start + CHUNK]
            corners = batch.corners(rows)
            edge = corners.thickness(centre[rows])
            short, thinnest, thickness = thinner_than(edge, batch.minimum_edge[rows])
            thick = np.delete(np.arange(len(rows)), short)
            if thick.size:
                found[:, rows[thick]] = _figures(corners, centre[rows], edge, minimum_centre[rows], thick)
            thin.append(rows[short])
            along.append(corners.along[short, thinnest])
            across.append(corners.across[short, thinnest])
            least.append(thickness)
        pending = np.concatenate(thin)
        if pending.size == 0:
            return
        places = (np.concatenate(values)[:, None] for values in (along, across))
        corner = EdgePlaces(batch.forms.chosen(pending), *places)
        centre[pending] = thickened(corner, centre[pending], np.concatenate(least), batch.minimum_edge[pending])
    raise too_thick(len(pending))


def _figures(
    corners: EdgePlaces, centre: FloatArray, edge: FloatArray, minimum_centre: FloatArray, thick: NDArray[np.intp]
) -> FloatArray:
    """The figures of those lenses in a chunk (`thick`) whose edges are thick enough, shape (5, lenses)."""
    if thick.size < len(centre):
        corners, centre, edge = corners.of_lenses(thick), centre[thick], edge[thick]
        minimum_centre = minimum_centre[thick]
    cut = thickened_inside(corners, centre, edge, minimum_centre)
    volume = volumes(corners.forms, corners.along, corners.across, cut.centre_mm)
    edges = cut.edge_mm.min(axis=1), cut.edge_mm.max(axis=1)
    return np.stack([cut.centre_mm[:, 0], cut.thinnest_mm, *edges, volume])
