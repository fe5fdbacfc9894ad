"""The figures of an order report, worked out a second time from the written contract and the handbooks' formulas.

It shares no line with the program and must never import it, so that a slip in either shows as a difference. Points are
(x, y) in mm from the boxed centre as seen facing the wearer: x to the viewer's right, y up.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from scipy.optimize import brentq

Document = dict[str, Any]
NASAL = {"right": 1.0, "left": -1.0}
"""Where the nose is: to the viewer's right for the right lens, to the left for the left one."""
EYES = ("right", "left")
EDGING_ALLOWANCE_MM = 1.0
ROTATION_BEHIND_CORNEA_MM = 13.5
TOOLING_INDEX = 1.530


class Blank(NamedTuple):
    """One uncut lens of a catalogue."""

    diameter_mm: float
    centre_in_mm: float
    centre_up_mm: float


class Body(NamedTuple):
    """A lens cut to its shape."""

    centre_thickness_mm: float
    thinnest_mm: float
    edge_min_mm: float
    edge_max_mm: float
    weight_g: float


def entry(catalogue: Document, group: str, name: str) -> Document:
    """The row of the catalogue with the id `name`."""
    row: Document = next(row for row in catalogue[group] if row["id"] == name)
    return row


def design_of(order: Document, catalogue: Document, eye: str) -> Document:
    """What the catalogue says of the design ordered for `eye`."""
    return entry(catalogue, "designs", order["lenses"][eye]["design"])


# --- shape and centration ---------------------------------------------------------------------------------------------


def shape_points(order: Document, eye: str) -> np.ndarray:
    """The corners of the shape for `eye` in mm, (n, 2); the shape that was not traced is the mirror image."""
    shape = order["frame"]["shape"]
    radii = np.array(shape["radii_mm"], dtype=float)
    angles = np.arange(len(radii)) * 2 * math.pi / len(radii)
    mirror = 1.0 if shape["side"] == eye else -1.0
    return np.column_stack([mirror * radii * np.cos(angles), radii * np.sin(angles)])


def decentration_in_mm(order: Document, eye: str) -> float:
    """(A + DBL)/2 − pd; + towards the nose."""
    frame = order["frame"]
    return float((frame["a_mm"] + frame["dbl_mm"]) / 2 - order["fitting"][eye]["pd_mm"])


def centre_in_mm(order: Document, eye: str) -> float:
    """A/2 + (DBL/2 − pd)/cos θ, along the lens; + towards the nose."""
    frame, fitting = order["frame"], order["fitting"]
    turned = math.cos(math.radians(fitting["face_form_deg"] or 0.0))
    return float(frame["a_mm"] / 2 + (frame["dbl_mm"] / 2 - fitting[eye]["pd_mm"]) / turned)


def decentration_up_mm(order: Document, catalogue: Document, eye: str) -> float:
    """height − B/2; 0 for single vision without a height."""
    height = order["fitting"][eye]["height_mm"]
    if height is None and design_of(order, catalogue, eye)["kind"] == "single_vision":
        return 0.0
    return float(height - order["frame"]["b_mm"] / 2)


def prism_reference_point(order: Document, catalogue: Document, eye: str) -> np.ndarray:
    """Where both apices of the lens lie, in mm from the boxed centre."""
    design = design_of(order, catalogue, eye)
    up = decentration_up_mm(order, catalogue, eye)
    if design["kind"] in ("progressive", "office"):
        up -= design.get("cross_above_prism_point_mm") or 0.0
    if design["kind"] in ("bifocal", "trifocal"):
        below_centre = design["segment"].get("below_centre_mm")
        up = 0.0 if below_centre is None else up + below_centre
    return np.array([NASAL[eye] * centre_in_mm(order, eye), up])


def blank_needed_mm(order: Document, catalogue: Document, eye: str, blank: Blank) -> float:
    """The smallest diameter of a blank laid out like `blank` that holds the shape grown for edging."""
    offset = np.array([NASAL[eye] * blank.centre_in_mm, blank.centre_up_mm])
    centre = prism_reference_point(order, catalogue, eye) + offset
    reach = np.hypot(*(shape_points(order, eye) - centre).T).max()
    return float(2 * (reach + EDGING_ALLOWANCE_MM))


def blank_by_formula_mm(order: Document, eye: str) -> float:
    """ED + 2 × |decentration| + 2, the rule of thumb."""
    return float(order["frame"]["ed_mm"] + 2 * abs(decentration_in_mm(order, eye)) + 2)


# --- powers -----------------------------------------------------------------------------------------------------------


def power_along_d(power: Document, meridian_deg: float) -> float:
    """S + C sin²(axis − meridian), in D."""
    cylinder, axis = power.get("cylinder") or 0.0, power.get("axis") or 0.0
    return float(power["sphere"] + cylinder * math.sin(math.radians(axis - meridian_deg)) ** 2)


def mean_sphere_d(power: Document) -> float:
    """S + C/2."""
    return float(power["sphere"] + (power.get("cylinder") or 0.0) / 2)


def near_pd_mm(order: Document, eye: str) -> float:
    """far − far / (1 + W (1/s − F/1000)), F along 180."""
    fitting = order["fitting"]
    far, working = fitting[eye]["pd_mm"], fitting["near_distance_mm"]
    vertex = fitting[eye]["vertex_mm"]
    to_rotation = (ROTATION_BEHIND_CORNEA_MM if vertex is None else vertex) + ROTATION_BEHIND_CORNEA_MM
    power = power_along_d(order["prescription"][eye], 180)
    return float(far - far / (1 + working * (1 / to_rotation - power / 1000)))


def vertical_imbalance_pd(order: Document) -> float:
    """Difference of the vertical-meridian powers over one centimetre, in Δ."""
    right, left = (power_along_d(order["prescription"][eye], 90) for eye in EYES)
    return abs(right - left)


def optical_centre_drop_mm(order: Document, eye: str) -> float:
    """How far the axis through the centre of rotation moves down with the tilt."""
    fitting = order["fitting"]
    return float(
        (fitting[eye]["vertex_mm"] + ROTATION_BEHIND_CORNEA_MM) * math.sin(math.radians(fitting["pantoscopic_deg"]))
    )


def base_curve_d(design: Document, power: Document) -> float:
    """The tooling curve of the row that holds the mean sphere; the first of two rows that share a boundary."""
    mean = mean_sphere_d(power)
    for row in design["base_curves"]:
        if row["from_d"] <= mean <= row["to_d"]:
            return float(row["curve_d"])
    return mean + 6 if mean > 0 else mean / 2 + 6


def as_worn(order: Document, eye: str, index: float) -> tuple[float, float, float]:
    """(M, J0, J45) in D of the power felt, by Martin's formulas for the lens referred to the tested vertex."""
    power, fitting = order["prescription"][eye], order["fitting"]
    moved_away_m = (fitting[eye]["vertex_mm"] - order["prescription"]["vertex_mm"]) / 1000
    tilt, wrap = math.radians(fitting["pantoscopic_deg"]), math.radians(fitting["face_form_deg"])
    total = math.acos(math.cos(tilt) * math.cos(wrap))
    # The front faces down and to the temple: the lens is turned about a line that rises towards the temple.
    turned_about = -math.atan2(math.sin(wrap) * NASAL[eye], math.tan(tilt))
    return _felt(power, index, total, turned_about, moved_away_m)


def _felt(power: Document, index: float, total: float, about: float, away_m: float) -> tuple[float, float, float]:
    """The tilted lens' power matrix, then the vertex."""
    sagittal = 1 + math.sin(total) ** 2 / (2 * index)
    tangential = sagittal / math.cos(total) ** 2
    turn = np.array([[math.cos(about), -math.sin(about)], [math.sin(about), math.cos(about)]])
    scale = turn @ np.diag([math.sqrt(sagittal), math.sqrt(tangential)]) @ turn.T
    felt = scale @ _matrix(power) @ scale
    at_test_plane = np.linalg.inv(np.eye(2) - away_m * felt) @ felt
    return vector_of(at_test_plane)


def _matrix(power: Document) -> np.ndarray:
    """Power along x and y as a symmetric matrix."""
    sphere, cylinder, axis = power["sphere"], power.get("cylinder") or 0.0, math.radians(power.get("axis") or 0.0)
    across = np.array([-math.sin(axis), math.cos(axis)])
    matrix: np.ndarray = sphere * np.eye(2) + cylinder * np.outer(across, across)
    return matrix


def vector_of(matrix: np.ndarray) -> tuple[float, float, float]:
    """(M, J0, J45)."""
    return (
        float(np.trace(matrix) / 2),
        float((matrix[0, 0] - matrix[1, 1]) / 2),
        float((matrix[0, 1] + matrix[1, 0]) / 2),
    )


def vector_of_power(power: Document) -> tuple[float, float, float]:
    """(M, J0, J45) of a sphere, cylinder and axis."""
    return vector_of(_matrix(power))


# --- lens body --------------------------------------------------------------------------------------------------------


def lens_body(order: Document, catalogue: Document, eye: str) -> Body:
    """The thinnest lens the material allows, cut to the shape."""
    lens = order["lenses"][eye]
    material = entry(catalogue, "materials", lens["material"])
    design = design_of(order, catalogue, eye)
    power = order["prescription"][eye]
    curve = lens.get("base_curve_d")
    curve = base_curve_d(design, power) if curve is None else curve
    centre = prism_reference_point(order, catalogue, eye)
    edge = shape_points(order, eye) - centre
    least_edge = material["min_edge_mm"][order["frame"]["mount"]]

    def edges(thickness: float) -> np.ndarray:
        return thickness_at(edge, thickness, curve, power, material["index"])

    thickness = material["min_centre_mm"]
    if edges(thickness).min() < least_edge:
        thickness = brentq(lambda t: edges(t).min() - least_edge, thickness, 30)
    area_points, weights = _quadrature(order, eye)
    within = thickness_at(area_points - centre, thickness, curve, power, material["index"])
    weight = float(weights @ within) / 1000 * material["density_g_cm3"]
    edge_min, edge_max = float(edges(thickness).min()), float(edges(thickness).max())
    return Body(thickness, min(edge_min, float(within.min())), edge_min, edge_max, weight)


def thickness_at(points: np.ndarray, centre_mm: float, curve_d: float, power: Document, index: float) -> np.ndarray:
    """Along the optical axis, mm, at points given from the apices."""
    front = (index - 1) / (TOOLING_INDEX - 1) * curve_d
    reduced = front / (1 - centre_mm / 1000 / index * front)
    cylinder, axis = power.get("cylinder") or 0.0, math.radians(power.get("axis") or 0.0)
    sphere = power["sphere"]
    if cylinder > 0:
        sphere, cylinder, axis = sphere + cylinder, -cylinder, axis + math.pi / 2
    along = points @ [math.cos(axis), math.sin(axis)]
    across = points @ [-math.sin(axis), math.cos(axis)]
    curvatures = [-(sphere + extra - reduced) / (index - 1) / 1000 for extra in (0.0, cylinder)]
    front_sag = _sag(np.hypot(along, across), curve_d / 530)
    return np.asarray(centre_mm - front_sag + _toric_sag(along, across, *curvatures))


def _sag(distance: np.ndarray, curvature: float) -> np.ndarray:
    """Of a sphere, + where the curve bends towards the eye."""
    return np.asarray(curvature * distance**2 / (1 + np.sqrt(1 - (curvature * distance) ** 2)))


def _toric_sag(along: np.ndarray, across: np.ndarray, c_along: float, c_across: float) -> np.ndarray:
    """Of a torus: the arc of the across meridian turned about an axis parallel to it."""
    rise = _sag(across, c_across)
    if abs(c_along) < 1e-12:
        return rise
    radius = 1 / c_along
    return np.asarray(radius - np.sign(radius) * np.sqrt((radius - rise) ** 2 - along**2))


def _quadrature(order: Document, eye: str) -> tuple[np.ndarray, np.ndarray]:
    """Points and weights over the shape's polygon: Gauss points on each triangle from the boxed centre."""
    corners = shape_points(order, eye)
    following = np.roll(corners, -1, axis=0)
    crosses = np.abs(corners[:, 0] * following[:, 1] - corners[:, 1] * following[:, 0])
    nodes, node_weights = np.polynomial.legendre.leggauss(8)
    nodes, node_weights = (nodes + 1) / 2, node_weights / 2
    points, weights = [], []
    for radial, radial_weight in zip(nodes, node_weights, strict=True):
        for sideways, side_weight in zip(nodes, node_weights, strict=True):
            points.append(radial * ((1 - sideways) * corners + sideways * following))
            weights.append(crosses * radial * radial_weight * side_weight)
    return np.concatenate(points), np.concatenate(weights)
