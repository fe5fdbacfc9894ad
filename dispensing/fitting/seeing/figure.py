"""Which edge of each side belongs to the lenses: the known A, B and DBL hold for all eight at once.

A rim has two edges, and a brow or a shadow looks as good as either; only the right ones are as far apart as the frame's
own sizes say. It knows edges by how far across they lie and how good they look, and nothing of pictures.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from dispensing.fitting.arrays import FloatArray
from dispensing.fitting.documents import Eye
from dispensing.fitting.seeing.whereabouts import SHOWN_OF_B, FrameSizes

KNOWN_SD_MM = 0.35
SIZE_SD = 0.04
DEPTH_SD_MM = 0.8
MOST_OFF = 25.0
WORTH = 2.0
ELSEWHERE_MM = 0.5
FAR_AHEAD = 20.0

Name = tuple[Eye, str]
ACROSS: tuple[Name, ...] = (("right", "temporal"), ("right", "nasal"), ("left", "nasal"), ("left", "temporal"))


@dataclass(frozen=True)
class Edge:
    """Where an edge lies (mm across its side), how strong it is (0 to 1), and how much it looks like a lens's own.

    ``beyond_mm``: how far outwards of it the lens ends, where it has no rim and this begins its ground edge.
    """

    at: float
    strength: float
    worth: float
    beyond_mm: float = 0.0


@dataclass(frozen=True)
class Chosen:
    """The edge taken for a side. ``ahead``: by how much every other place costs more; ``off_mm``: from the figure."""

    edge: Edge
    ahead: float
    off_mm: float


def as_one_figure(edges: dict[Name, list[Edge]], frame: FrameSizes, size: float) -> dict[Name, Chosen]:
    """Of all ways to take one edge a side, the one that is most the known frame.

    Across, the four sides share a middle and a size; down, each lens has a middle of its own and the same size. What
    the edges are worth and how far they lie from the figure make up what a way costs.
    """
    half, all_of_it = frame.dbl_mm / 2, frame.dbl_mm / 2 + frame.a_mm
    should = np.array([-all_of_it, -half, half, all_of_it])
    x = _Ways(edges, ACROSS)
    down = [_Ways(edges, ((eye, "top"), (eye, "bottom"))) for eye in _EYES]
    from_middle = x.at - x.at.mean(axis=1, keepdims=True)
    sizes = from_middle @ should / (should @ should)
    off_x = from_middle - sizes[:, np.newaxis] * should
    costs_x = np.sum(off_x**2, axis=1) / KNOWN_SD_MM**2 + ((sizes - size) / SIZE_SD) ** 2 - WORTH * x.worth.sum(axis=1)
    # A side of which no edge shows must not drag the others: beyond a limit a wrong depth costs no more.
    off_down = [np.diff(one.at, axis=1)[:, 0] - sizes[:, np.newaxis] * SHOWN_OF_B * frame.b_mm for one in down]
    costs_down = [
        np.minimum((off / DEPTH_SD_MM) ** 2, MOST_OFF) - WORTH * one.worth.sum(axis=1)
        for off, one in zip(off_down, down, strict=True)
    ]
    total = costs_x + sum(costs.min(axis=1) for costs in costs_down)
    way = int(np.argmin(total))
    found = {name: _chosen(x, total, way, i, float(off_x[way, i])) for i, name in enumerate(x.names)}
    for one, costs, off in zip(down, costs_down, off_down, strict=True):
        best = int(np.argmin(costs[way]))
        for i, name in enumerate(one.names):
            found[name] = _chosen(one, costs[way], best, i, float(off[way, best]))
    return found


_EYES: tuple[Eye, Eye] = ("right", "left")


class _Ways:
    """All ways to take one edge for each of some sides: places and worths, ways × sides."""

    def __init__(self, edges: dict[Name, list[Edge]], names: tuple[Name, ...]) -> None:
        self.names = names
        self.ways = list(product(*(edges[name] for name in names)))
        self.at: FloatArray = np.array([[edge.at for edge in way] for way in self.ways])
        self.worth: FloatArray = np.array([[edge.worth for edge in way] for way in self.ways])


def _chosen(group: _Ways, costs: FloatArray, way: int, column: int, off_mm: float) -> Chosen:
    elsewhere = np.abs(group.at[:, column] - group.at[way, column]) > ELSEWHERE_MM
    ahead = float(np.min(costs[elsewhere], initial=costs[way] + FAR_AHEAD) - costs[way])
    return Chosen(group.ways[way][column], ahead, abs(off_mm))


def off_the_others(at: dict[Name, float], frame: FrameSizes, size: float) -> dict[Name, float]:
    """How far each side lies from where the others put it, mm, the one that suits it least left out.

    So a side that is wrong is far off, and does not make the right ones look so. ``size``: as first fitted.
    """
    half, all_of_it = frame.dbl_mm / 2, frame.dbl_mm / 2 + frame.a_mm
    places = np.array([at[name] for name in ACROSS])
    deep = [at[eye, "bottom"] - at[eye, "top"] for eye in _EYES]
    # Rows of a fit for the middle and the size: four sides, two depths, the size as it was; each by its spread.
    should = np.array([-all_of_it, -half, half, all_of_it, SHOWN_OF_B * frame.b_mm, SHOWN_OF_B * frame.b_mm, 1.0])
    system = np.column_stack([np.array([1.0, 1, 1, 1, 0, 0, 0]), should])
    told = np.array([*places, *deep, size])
    weight = 1 / np.array([KNOWN_SD_MM] * 4 + [DEPTH_SD_MM] * 2 + [SIZE_SD])
    off = [_least_off(system, told, weight, row) for row in range(6)]
    found = dict(zip(ACROSS, off[:4], strict=True))
    for eye, deep_off in zip(_EYES, off[4:], strict=True):
        found[eye, "top"] = found[eye, "bottom"] = deep_off
    return found


def _least_off(system: FloatArray, told: FloatArray, weight: FloatArray, row: int) -> float:
    least = np.inf
    for other in (None, *(one for one in range(6) if one != row)):
        kept = weight.copy()
        kept[[row] if other is None else [row, other]] = 0.0
        fit, *_ = np.linalg.lstsq(system * kept[:, np.newaxis], told * kept, rcond=None)
        least = min(least, abs(float(told[row] - system[row] @ fit)))
    return float(least)
