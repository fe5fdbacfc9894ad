"""Limits about changes of the prescription."""

from __future__ import annotations

import math
from collections.abc import Callable

from tests.orders.rules.edges.edge import (
    ABOVE,
    FROM,
    NO_PREVIOUS,
    UP_TO,
    Changes,
    Edge,
    base_in,
    field,
    of_age,
    spheres,
)


def _axis(now: float, then: float = 0.0, cylinder: float = -1.0) -> Callable[[float], Changes]:
    """The right axis now, and last time's the quantity further than ``then``."""
    return lambda q: _axes(now, then + q, cylinder)


def _axes(now: float, then: float, cylinder: float) -> Changes:
    return {
        "prescription.right.axis": now,
        "prescription.right.cylinder": cylinder,
        "previous_prescription.right.axis": round(then, 6),
        "previous_prescription.right.cylinder": cylinder,
    }


def _left_over(q: float) -> Changes:
    """A cylinder of 0.60 turned so far that 2 C sin θ of it is left."""
    return _axes(33, 33 + math.degrees(math.asin(q / 1.2)), -0.6)


def _left_over_by_a_slip(q: float) -> Changes:
    """A weak cylinder turned by 16 degrees, with the digits of 23 swapped, of which so much is left."""
    return _axes(32, 16, -q / (2.0 * math.sin(math.radians(16.0))))


def _ten_times(q: float) -> Changes:
    """A tenth of last time's figure, which is the quantity away."""
    then = q / 0.9
    return {"previous_prescription.right.sphere": -then, "prescription.right.sphere": -then / 10.0}


def _add_ten_times_less(q: float) -> Changes:
    return {"prescription.right.sphere": -0.25, "previous_prescription.right.sphere": -2.5 - q}


def _across_zero(q: float) -> Changes:
    return {"prescription.right.sphere": q / 2.0 + 0.1, "previous_prescription.right.sphere": 0.1 - q / 2.0}


def _half_transposed(q: float) -> Changes:
    return {"prescription.right.cylinder": 0.75, "prescription.right.axis": 168 + q}


def _exchanged(q: float) -> Changes:
    """Spherical eyes on opposite sides of last time's: as written √2 × their difference apart, exchanged not at all."""
    apart = q / math.sqrt(2.0)
    now, then = (-2.0, -2.0 - apart), (-2.0 - apart, -2.0)
    return spheres(now, then)


def _share(q: float) -> Changes:
    """Exchanged, the eyes are the share ``q`` of what they are apart as written."""
    return spheres((-2.0, -4.0), _then(q))


def _then(q: float) -> tuple[float, float]:
    """Last time's spheres between this time's −2 and −4: each eye ``near`` its fellow's, 2 − ``near`` from its own."""
    near = 2.0 * q / (1.0 + q)
    return -4.0 + near, -2.0 - near


def _alike(q: float) -> Changes:
    same = {"sphere": -2.0, "cylinder": -q, "axis": 90, "add": 1.75}
    return {f"prescription.{eye}.{name}": value for eye in ("right", "left") for name, value in same.items()}


def _oblique(q: float) -> Changes:
    """Cylinders of 1 D crossed by a right angle: the change is large, and counts where either axis is oblique."""
    return _axes(q, q + 90.0, -1.0)


def _acuity_fallen_by(q: float) -> Changes:
    return {"prescription.right.acuity": f"{q:.2f} logMAR", "previous_prescription.right.acuity": "0.00 logMAR"}


EDGES: tuple[Edge, ...] = (
    Edge("sign-change", "drift_d", 0.75, FROM, _across_zero),
    Edge("sign-change", "same_axis_deg", 5.0, UP_TO, _half_transposed, step=0.2),
    Edge("decimal-slip", "apart_d", 1.25, FROM, _ten_times),
    Edge("decimal-slip", "near_d", 0.5, UP_TO, _add_ten_times_less),
    Edge(
        "decimal-slip",
        "about_ten",
        0.5,
        UP_TO,
        lambda q: {"prescription.right.sphere": -0.5, "prescription.left.sphere": -0.5 * (10.0 + q)},
        eye="both",
        null=NO_PREVIOUS,
    ),
    Edge("axis-slip", "cylinder_d", 0.75, FROM, lambda q: _axes(33, 44, -q)),
    Edge("axis-slip", "strong_cylinder_d", 2.0, FROM, lambda q: _axes(33, 40, -q)),
    Edge("axis-slip", "change_deg", 10.0, ABOVE, _axis(33, 33), step=0.3),
    Edge("axis-slip", "strong_change_deg", 5.0, ABOVE, _axis(33, 33, -2.5), step=0.2),
    Edge("axis-slip", "weak_change_deg", 15.0, ABOVE, _axis(12, 12, -0.5), step=0.4),
    Edge("axis-slip", "near_deg", 5.0, UP_TO, _axis(12, 21), step=0.2, says="with its digits swapped it reads 21"),
    Edge("axis-slip", "weak_near_deg", 10.0, UP_TO, _axis(12, 21, -0.5), step=0.4),
    Edge("axis-slip", "weak_residual_d", 0.75, FROM, _left_over),
    Edge("axis-slip", "swap_near_deg", 1.0, UP_TO, lambda q: _axes(12, 21 - q, -0.75), step=0.05),
    Edge("axis-slip", "slip_residual_d", 0.25, FROM, _left_over_by_a_slip),
    Edge(
        "axis-slip",
        "mirror_cylinder_d",
        0.5,
        FROM,
        lambda q: {"prescription.right.axis": 15, "prescription.left.axis": 129, "prescription.left.cylinder": -q},
        null=NO_PREVIOUS,
    ),
    Edge("eyes-exchanged", "apart_d", 0.5, FROM, _exchanged, eye="both"),
    Edge("eyes-exchanged", "exchanged_share", 0.6, UP_TO, _share, eye="both", step=0.01),
    Edge("eyes-identical", "cylinder_d", 0.5, FROM, _alike, eye="both"),
    Edge("large-change", "mean_sphere_d", 0.75, FROM, field("prescription.right.sphere", -1.0, -2.0)),
    Edge(
        "large-change",
        "add_d",
        0.5,
        FROM,
        field("prescription.right.add", 1.0, 1.5),
    ),
    Edge("large-change", "prism_pd", 0.5, FROM, lambda q: {"prescription.right.prism": base_in(q)}),
    Edge("large-change", "oblique_from_deg", 30.0, FROM, _oblique, step=1),
    Edge("large-change", "oblique_to_deg", 60.0, UP_TO, _oblique, step=1),
    Edge(
        "large-change",
        "elder_years",
        60,
        FROM,
        of_age,
        step=1,
        says="risk of falls",
        besides={"prescription.right.sphere": -3.5},
    ),
    Edge("large-change", "acuity_logmar", 0.2, FROM, _acuity_fallen_by),
    Edge(
        "large-change",
        "alike_d",
        0.25,
        UP_TO,
        lambda q: spheres((-2.0, -2.0), (-3.0, -3.0 - q)),
        eye="both",
    ),
    Edge(
        "present-spectacles",
        "reading_d",
        0.12,
        FROM,
        field("patient.present_spectacles.right.sphere", -1.0, -3.0),
        besides={
            "patient.present_spectacles.right.cylinder": -0.75,
            "patient.present_spectacles.right.axis": 170,
        },
        null=NO_PREVIOUS,
    ),
)
