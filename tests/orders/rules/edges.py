"""Orders that lie just within, on and just beyond a limit of the trade, one row per limit.

``value`` is the published figure as it was looked up, independently of the table that the check reads: if a figure is
wrong there, an order falls on the wrong side here. The sources stand in the table of limits.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from dispensing.optics.magnification import MagnifyingLens, image_size_difference_percent
from dispensing.optics.surface import true_from_marked
from dispensing.trade import Limits
from orders.rules.case import Case, EyeCase
from orders.rules.examples import Example

ABOVE, FROM, BELOW, UP_TO = "above", "from", "below", "up to"
"""Where a rule speaks: beyond the limit only, or on it as well; on its upper or its lower side."""

Changes = dict[str, Any]

ORDERED_ON = date(2026, 11, 25)
"""The day of the clean order."""


@dataclass(frozen=True)
class Edge:
    """``at``: the order, by what differs from the clean one, in which the quantity that is compared is so much.

    ``step``: how far beyond and within the limit is tried. ``level``, ``eye``: of the finding; ``says``: words that
    its message has only on that side, for a limit that changes what is advised. ``null``, ``catalogue``: as in the
    examples of the rules. ``besides``: what differs in all three orders.
    """

    rule: str
    limit: str
    value: float
    speaks: str
    at: Callable[[float], Changes]
    level: str = "ask"
    eye: str | None = "right"
    says: str = ""
    step: float = 0.02
    null: tuple[str, ...] = ()
    besides: Changes | None = None
    others: Callable[[float], Changes] | None = None
    catalogue: Callable[[float], Changes] | None = None
    catalogue_null: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.rule} {self.limit}"

    def order(self, quantity: float) -> Example:
        changed = _nested({**(self.besides or {}), **self.at(quantity)})
        beside = () if self.others is None else ({"number": "E-00000", **_nested(self.others(quantity))},)
        return Example(
            self.rule,
            "trips",
            "at a limit",
            set=changed,
            null=self.null,
            catalogue=_nested(self.catalogue(quantity) if self.catalogue else {}),
            catalogue_null=self.catalogue_null,
            others=beside,
        )

    def sides(self) -> list[tuple[float, bool]]:
        """Each quantity tried, and whether the rule speaks there."""
        outwards = self.step if self.speaks in (ABOVE, FROM) else -self.step
        on_it = self.speaks in (FROM, UP_TO)
        return [(self.value - outwards, False), (self.value, on_it), (self.value + outwards, True)]


def _nested(paths: Changes) -> Changes:
    found: Changes = {}
    for path, value in paths.items():
        *parents, last = path.split(".")
        part = found
        for name in parents:
            part = part.setdefault(name, {})
        part[last] = value
    return found


def field(path: str, scale: float = 1.0, offset: float = 0.0) -> Callable[[float], Changes]:
    """The quantity is a field of the order, as it is or turned into one: ``offset + scale × quantity``."""
    return lambda q: {path: round(offset + scale * q, 6)}


def of_age(years: float) -> Changes:
    """A wearer whose birthday is the day of the order."""
    return {"patient.born_on": f"{2026 - round(years)}-11-25"}


def half_each(path: str, offset: float = 0.0, scale: float = 0.5) -> Callable[[float], Changes]:
    return lambda q: {f"fitting.{eye}.{path}": offset + scale * q for eye in ("right", "left")}


def at_which(quantity: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Between ``low`` and ``high``, over which the quantity grows, the place where it is as wanted."""
    for _ in range(50):
        middle = (low + high) / 2.0
        low, high = (middle, high) if quantity(middle) < wanted else (low, middle)
    return (low + high) / 2.0


def case_of(changes: Changes) -> Case:
    """The order as the rules see it, for quantities that no field of an order states."""
    order = Example("", "trips", "", set=_nested(changes))
    return Case(order.order(), order.lens_catalogue(), (), Limits())


SINGLE = {"lenses.right.design": "single", "lenses.left.design": "single"}
PDS_ALIKE = {"fitting.right.pd_mm": 32.0, "fitting.left.pd_mm": 32.0, "fitting.binocular_pd_mm": 64.0}
NO_PD = ("fitting.right.pd_mm",)
NO_PREVIOUS = ("previous_prescription",)


def _uneven(q: float) -> Changes:
    return {"fitting.left.pd_mm": 32.0, "fitting.binocular_pd_mm": 64.0 - 2.0 * q}


def _pd(q: float) -> Changes:
    return {"fitting.right.pd_mm": q / 2.0, "fitting.left.pd_mm": q / 2.0, "fitting.binocular_pd_mm": q}


def _far_apart(q: float) -> Changes:
    return {"fitting.right.pd_mm": 32.0 - q / 2.0, "fitting.left.pd_mm": 32.0 + q / 2.0}


def _far_apart_before(q: float) -> Changes:
    return {"fitting": {"right": {"pd_mm": 32.0 + q / 2.0}, "left": {"pd_mm": 32.0 - q / 2.0}}}


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
    return _spheres(now, then)


def _share(q: float) -> Changes:
    """Exchanged, the eyes are the share ``q`` of what they are apart as written."""
    return _spheres((-2.0, -4.0), _then(q))


def _then(q: float) -> tuple[float, float]:
    """Last time's spheres between this time's −2 and −4: each eye ``near`` its fellow's, 2 − ``near`` from its own."""
    near = 2.0 * q / (1.0 + q)
    return -4.0 + near, -2.0 - near


def _spheres(now: tuple[float, float], then: tuple[float, float]) -> Changes:
    return {
        f"{part}.{eye}.{name}": value
        for part, pair in (("prescription", now), ("previous_prescription", then))
        for eye, sphere in zip(("right", "left"), pair, strict=True)
        for name, value in (("sphere", sphere), ("cylinder", None), ("axis", None))
    }


def _alike(q: float) -> Changes:
    same = {"sphere": -2.0, "cylinder": -q, "axis": 90, "add": 1.75}
    return {f"prescription.{eye}.{name}": value for eye in ("right", "left") for name, value in same.items()}


def _oblique(q: float) -> Changes:
    """Cylinders of 1 D crossed by a right angle: the change is large, and counts where either axis is oblique."""
    return _axes(q, q + 90.0, -1.0)


def _base_in(amount: float) -> list[Changes]:
    return [{"amount": amount, "base": "in"}]


def _imbalance(q: float) -> Changes:
    """Spheres this far apart make as many prism dioptres 10 mm below their centres."""
    return _spheres((-2.0, -2.0 - q), (-2.0, -2.0 - q))


def _more_imbalance(q: float) -> Changes:
    """One prism dioptre last time, and so much more now."""
    return _spheres((-2.0, -3.0 - q), (-2.0, -3.0))


def _balance(q: float) -> Changes:
    return {"prescription.right.sphere": -1.75 - q, "prescription.left.cylinder": None, "prescription.left.axis": None}


def _curves_by_table(q: float) -> Changes:
    """Mean spheres on both sides of −3, where the lab's table goes from a curve of 5 to one of 3."""
    return _spheres((-2.9, -2.9 - q), (-2.9, -2.9 - q))


def _add_beyond_a_metre(q: float) -> Changes:
    """A metre asks for one dioptre; the right add is so much more."""
    return {"fitting.near_distance_mm": 1000, "prescription.right.add": 1.0 + q}


CARRIED_NOWHERE = {"power_basis": "carried_to_vertex", "fitting.right.vertex_mm": 12.0}
"""Worn where it was tested, so that the carried power is the prescribed one."""


def _stated_off(q: float) -> Changes:
    """A stated power whose sphere is so far from the prescribed one."""
    return {"lenses.right.power": {"sphere": -2.25 - q, "cylinder": -0.75, "axis": 170}}


def _strong(sphere: float, material: str) -> Changes:
    return {"prescription.right.sphere": sphere, "lenses.right.material": material}


def _thick_edge(q: float) -> Changes:
    def edge_mm(minus: float) -> float:
        body = case_of(_strong(-minus, "m150")).right.figures.body_as_made
        assert body is not None
        return body.edge_max_mm

    return _strong(-at_which(edge_mm, q, 4.0, 12.0), "m150")


TURNED: Changes = {"fitting.face_form_deg": 18.0, "frame.front_curve_d": None}


def _thick_edge_in_a_wrap(q: float) -> Changes:
    def edge_mm(minus: float) -> float:
        body = case_of(_strong(-minus, "m150") | TURNED).right.figures.body_as_made
        assert body is not None
        return body.edge_max_mm

    return _strong(-at_which(edge_mm, q, 2.0, 12.0), "m150") | TURNED


def _thicker_than_need_be(q: float) -> Changes:
    """A lens in 1.50 whose thickest place would be so much thinner in the highest index on offer."""

    small = {"frame.a_mm": 46.0, "frame.ed_mm": 49.0}

    def saved_mm(minus: float) -> float:
        case = case_of(_strong(-minus, "m150") | small)
        highest = max(case.catalogue.materials, key=lambda one: one.index)
        bodies = case.right.figures.body_as_made, case.right.figures.body_in(highest)
        thick, thin = (max(body.edge_max_mm, body.centre_thickness_mm) for body in bodies if body is not None)
        return thick - thin

    return _strong(-at_which(saved_mm, q, 2.2, 8.0), "m150") | small


def _images_apart(q: float) -> Changes:
    """Powers less than the 3 D apart that the rule asks about, on curves that make the images differ."""

    def percent(apart: float) -> float:
        case = case_of(_plus(apart))
        right, left = (magnifying(eye) for eye in case.both)
        assert right is not None
        assert left is not None
        return abs(image_size_difference_percent(right, left))

    return _plus(at_which(percent, q, 0.5, 2.9))


def _plus(apart: float) -> Changes:
    spheres = _spheres((3.0, 3.0 - apart), (3.0, 3.0 - apart))
    return spheres | {"lenses.right.base_curve_d": 9.0, "lenses.left.base_curve_d": 5.0}


def magnifying(eye: EyeCase) -> MagnifyingLens | None:
    body, curve, vertex = eye.figures.body_as_made, eye.figures.base_curve_d, eye.fitted.vertex_mm
    if body is None or curve is None or vertex is None or eye.material is None:
        return None
    front = true_from_marked(curve, eye.material.index)
    return MagnifyingLens(body.power.mean_sphere, front, body.centre_thickness_mm, eye.material.index, vertex)


def _tint_in_words(q: float) -> Changes:
    """A right lens that lets so much light through, as its tint's depth in words has it."""
    return {"lenses.right.treatments": ["tint-free"], "lenses.right.colour": f"grey {100.0 - q:.2f} %"}


def _blue_tint(q: float) -> Changes:
    return {"lenses.right.treatments": ["tint-free"], "lenses.right.colour": f"blue {100.0 - q:.2f} %"}


def _apart_from_the_list(q: float) -> Changes:
    """A tint of the list that lets 85 % through, and words that say less."""
    return {"lenses.right.treatments": ["tint-light"], "lenses.right.colour": f"grey {15.0 + q:.2f} %"}


def _seen_with(q: float) -> Changes:
    return {f"prescription.{eye}.acuity": f"{q:.2f} decimal" for eye in ("right", "left")}


def _frosted(q: float) -> Changes:
    return {"lenses.right.instruction": "frosted", "prescription.right.acuity": f"{q:.2f} decimal"}


def _acuity_fallen_by(q: float) -> Changes:
    return {"prescription.right.acuity": f"{q:.2f} logMAR", "previous_prescription.right.acuity": "0.00 logMAR"}


def _traced(q: float) -> Changes:
    """A round shape of 50 mm in a frame said to be narrower."""
    shape = {"side": "right", "radii_mm": [25.0] * 72}
    return {"frame.shape": shape, "frame.b_mm": 50.0, "frame.a_mm": 50.0 - q, "frame.ed_mm": None}


def _ten_years_before(a_year: float) -> Changes:
    """A PD that has grown by so much a year since then, both eyes alike, and by the 1.5 mm that readings may differ."""
    half = (1.5 + a_year * 3652 / 365.25) / 2.0
    return {"ordered_on": "2016-11-25", "fitting.right.pd_mm": 31.5 - half, "fitting.left.pd_mm": 32.0 - half}


RECORDED = "pd-as-recorded"

AMERICAN_SAFETY: Changes = {"practice.country": "US", "remarks": "Z87.1 safety glasses"}
STRONG_PLUS: Changes = {"prescription.right.sphere": 3.0}
TOUGH: Changes = {"lenses.right.material": "tough", "lenses.left.material": "tough"}


def _centre(centre_mm: float) -> Changes:
    return {"lenses.right.centre_thickness_mm": centre_mm}


EDGES: tuple[Edge, ...] = (
    # Pupil distances
    Edge(
        "monocular-pd-needed",
        "power_d",
        4.0,
        FROM,
        field("prescription.right.sphere", -1.0, 0.75),
        "stop",
        null=NO_PD,
        besides=SINGLE | PDS_ALIKE,
    ),
    Edge(
        "monocular-pd-needed",
        "face_form_deg",
        10.0,
        ABOVE,
        field("fitting.face_form_deg"),
        "stop",
        null=NO_PD,
        besides=SINGLE | PDS_ALIKE,
    ),
    Edge("monocular-pd-needed", "uneven_mm", 0.25, FROM, _uneven, "stop", null=NO_PD, besides=SINGLE),
    Edge("pd-sum", "difference_mm", 1.0, FROM, field("fitting.binocular_pd_mm", 1.0, 63.5), "stop", "both"),
    Edge("pd-range", "least_possible_mm", 48.0, BELOW, _pd, "stop", "both", step=0.5),
    Edge("pd-range", "most_possible_mm", 80.0, ABOVE, _pd, "stop", "both", step=0.5),
    Edge("pd-range", "adult_least_mm", 54.0, BELOW, _pd, "ask", "both", step=0.5),
    Edge("pd-range", "adult_most_mm", 74.0, ABOVE, _pd, "ask", "both", step=0.5),
    Edge(
        RECORDED,
        "difference_mm",
        1.5,
        ABOVE,
        lambda q: {},
        eye="both",
        others=lambda q: {"fitting.right.pd_mm": 31.5 - q},
    ),
    Edge(RECORDED, "a_year_mm", 0.1, ABOVE, lambda q: {}, eye="both", step=0.005, others=_ten_years_before),
    Edge(RECORDED, "uneven_mm", 1.0, FROM, _far_apart, eye="both", others=_far_apart_before),
    Edge(
        RECORDED,
        "from_years",
        18,
        FROM,
        of_age,
        eye="both",
        step=1,
        others=lambda q: {"fitting.right.pd_mm": 28.5},
    ),
    Edge(
        "near-pd",
        "least_percent",
        3.0,
        BELOW,
        half_each("near_pd_mm", 32.0, -0.32),
        eye="both",
        step=0.05,
        besides=PDS_ALIKE,
    ),
    Edge(
        "near-pd",
        "most_percent",
        9.0,
        ABOVE,
        half_each("near_pd_mm", 32.0, -0.32),
        eye="both",
        step=0.05,
        besides=PDS_ALIKE,
    ),
    Edge("pd-asymmetry", "difference_mm", 2.0, ABOVE, _far_apart, eye="both"),
    Edge("pd-asymmetry", "repeat_mm", 4.0, ABOVE, _far_apart, eye="both", says="Measure both again."),
    # Frame and heights
    Edge("box-sane", "a_least_mm", 35.0, BELOW, field("frame.a_mm"), eye=None, besides={"frame.b_mm": 28.0}),
    Edge("box-sane", "a_most_mm", 70.0, ABOVE, field("frame.a_mm"), eye=None),
    Edge("box-sane", "b_least_mm", 18.0, BELOW, field("frame.b_mm"), eye=None),
    Edge("box-sane", "b_most_mm", 60.0, ABOVE, field("frame.b_mm"), eye=None, besides={"frame.a_mm": 66.0}),
    Edge("box-sane", "dbl_least_mm", 10.0, BELOW, field("frame.dbl_mm"), eye=None),
    Edge("box-sane", "dbl_most_mm", 26.0, ABOVE, field("frame.dbl_mm"), eye=None),
    Edge("box-sane", "deeper_than_wide_mm", 1.0, ABOVE, field("frame.b_mm", 1.0, 50.0), eye=None),
    Edge("decentration", "in_max_mm", 4.0, ABOVE, field("fitting.right.pd_mm", -1.0, 34.0)),
    Edge(
        "clearance-above",
        "least_mm",
        8.0,
        BELOW,
        field("fitting.right.height_mm", -1.0, 20.5 + 15.201159579),
        step=0.05,
        catalogue_null=("designs.progressive.clearance_above_mm",),
    ),
    Edge("heights-differ", "difference_mm", 1.0, ABOVE, field("fitting.right.height_mm", -1.0, 21.0), eye="both"),
    Edge(
        "heights-differ",
        "repeat_mm",
        2.5,
        ABOVE,
        field("fitting.right.height_mm", -1.0, 21.0),
        eye="both",
        says="Level the frame and measure again.",
    ),
    Edge("pupil-in-frame", "nasal_half_share", 0.5, ABOVE, field("fitting.right.pd_mm", -25.0, 34.0), step=0.01),
    Edge(
        "optical-centre-drop",
        "power_d",
        4.0,
        FROM,
        field("prescription.right.sphere", -1.0, 0.75),
        besides=SINGLE,
    ),
    Edge(
        "optical-centre-drop",
        "tilt_deg",
        5.0,
        ABOVE,
        field("fitting.pantoscopic_deg"),
        besides=SINGLE | {"prescription.right.sphere": -5.0},
    ),
    # Changes of the prescription
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
    Edge("large-change", "prism_pd", 0.5, FROM, lambda q: {"prescription.right.prism": _base_in(q)}),
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
        lambda q: _spheres((-2.0, -2.0), (-3.0, -3.0 - q)),
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
    # Position of wear
    Edge("vertex-band", "usual_least_mm", 12.0, BELOW, field("fitting.right.vertex_mm")),
    Edge("vertex-band", "usual_most_mm", 15.0, ABOVE, field("fitting.right.vertex_mm")),
    Edge("vertex-band", "least_mm", 8.0, BELOW, field("fitting.right.vertex_mm"), says="adjust the frame"),
    Edge("vertex-band", "most_mm", 18.0, ABOVE, field("fitting.right.vertex_mm"), says="adjust the frame"),
    Edge("vertex-band", "possible_least_mm", 6.0, BELOW, field("prescription.vertex_mm"), eye=None),
    Edge("vertex-band", "possible_most_mm", 20.0, ABOVE, field("prescription.vertex_mm"), eye=None),
    Edge(
        "vertical-imbalance",
        "one_distance_pd",
        2.0,
        FROM,
        _imbalance,
        eye="both",
        null=NO_PREVIOUS,
        besides=SINGLE | {"prescription.use": "distance"},
    ),
    Edge(
        "decentration",
        "in_known_mm",
        7.0,
        ABOVE,
        lambda q: {"frame.a_mm": 45.0 + 2.0 * q, "frame.ed_mm": 46.0 + 2.0 * q},
        besides={"lenses.right.blank_mm": None, "prescription.right.sphere": -0.5},
        catalogue=lambda q: {
            "designs.progressive.blanks": [{"diameter_mm": 90.0, "centre_in_mm": 0, "centre_up_mm": 0}]
        },
    ),
    # Sight and falls
    Edge("near-print", "n_points", 8.0, ABOVE, lambda q: {"prescription.right.acuity": f"6/6 N{q:.2f}"}),
    Edge("near-print", "jaeger_number", 7.0, ABOVE, lambda q: {"prescription.right.acuity": f"6/6 J{q:.0f}"}, step=1),
    Edge("near-print", "m_units", 1.0, ABOVE, lambda q: {"prescription.right.acuity": f"6/6 {q:.2f} M"}),
    Edge("near-print", "far_acuity", 0.5, FROM, lambda q: {"prescription.right.acuity": f"{q:.2f} decimal N24"}),
    Edge("low-acuity-eye", "useful_acuity", 0.5, FROM, _frosted),
    Edge("first-progressive-late", "unknown_years", 80, FROM, of_age, eye=None, step=1, null=NO_PREVIOUS),
    # Driving
    Edge(
        "category-four",
        "sunglass_percent",
        3.0,
        BELOW,
        _tint_in_words,
        says="darker than any category",
        besides={"patient.driver": False},
    ),
    Edge("category-four", "transmittance_percent", 8.0, UP_TO, _tint_in_words, "stop"),
    Edge("night-driving", "transmittance_percent", 75.0, BELOW, _tint_in_words),
    Edge("traffic-signals", "transmittance_percent", 80.0, BELOW, _blue_tint),
    Edge("driving-asked", "youngest_years", 14, BELOW, of_age, eye=None, step=1),
    Edge("driving-sight", "least_acuity", 0.5, BELOW, _seen_with, eye=None, besides={"practice.country": "US-TX"}),
    Edge("tint-stated", "apart_percent", 5.0, ABOVE, _apart_from_the_list),
    Edge(
        "drill-material",
        "child_below_years",
        16,
        BELOW,
        of_age,
        eye=None,
        step=1,
        besides={"frame.mount": "drilled"},
    ),
    Edge("pantoscopic-band", "least_deg", 0.0, BELOW, field("fitting.pantoscopic_deg"), eye=None),
    Edge("face-form-band", "least_deg", 0.0, BELOW, field("fitting.face_form_deg"), eye=None),
    # Thickness, materials and pairs
    Edge("shape-agrees", "difference_mm", 0.5, ABOVE, _traced, eye=None),
    Edge("edge-thick", "rimmed_mm", 8.0, ABOVE, _thick_edge),
    Edge("edge-thick", "wrapped_mm", 6.0, ABOVE, _thick_edge_in_a_wrap),
    Edge("index-for-power", "worth_mm", 1.0, FROM, _thicker_than_need_be),
    Edge("image-size", "difference_percent", 3.0, ABOVE, _images_apart, eye="both"),
    Edge(
        "impact-need",
        "below_years",
        18,
        BELOW,
        of_age,
        step=1,
    ),
    Edge(
        "low-abbe",
        "power_d",
        5.0,
        ABOVE,
        field("prescription.right.sphere", -1.0, 0.75),
        besides={"lenses.right.material": "m167"},
    ),
    Edge(
        "low-abbe",
        "prism_pd",
        3.0,
        ABOVE,
        lambda q: {"prescription.right.prism": _base_in(q)},
        besides={"lenses.right.material": "m167"},
    ),
    Edge(
        "glass",
        "density_g_cm3",
        2.3,
        FROM,
        lambda q: {},
        "stop",
        besides={"lenses.right.material": "mineral", "frame.mount": "drilled"},
        catalogue=lambda q: {"materials.mineral.density_g_cm3": q},
    ),
    Edge(
        "glass",
        "below_years",
        16,
        BELOW,
        of_age,
        "stop",
        step=1,
        besides={"lenses.right.material": "mineral"},
    ),
    Edge(
        "balance-stated",
        "difference_d",
        1.0,
        ABOVE,
        _balance,
        besides={
            "lenses.right.instruction": "balance",
            "prescription.right.cylinder": None,
            "prescription.right.axis": None,
        },
    ),
    Edge("base-curve-match", "alike_within_d", 1.0, FROM, _curves_by_table, eye="both"),
    Edge(
        "curve-matches-frame",
        "steep_d",
        6.0,
        FROM,
        field("frame.front_curve_d"),
        besides={"lenses.right.base_curve_d": 3.0},
    ),
    Edge("curve-matches-frame", "turned_d", 6.0, BELOW, field("lenses.right.base_curve_d"), besides=TURNED),
    Edge(
        "curve-matches-frame",
        "apart_d",
        2.0,
        ABOVE,
        field("lenses.right.base_curve_d", -1.0, 7.0),
        besides={"frame.front_curve_d": 7.0},
    ),
    Edge(
        "curve-matches-frame",
        "wrap_apart_d",
        1.0,
        ABOVE,
        field("lenses.right.base_curve_d", 1.0, 8.0),
        besides={"frame.front_curve_d": 8.0},
    ),
    Edge(
        "wrap-base",
        "frame_curve_d",
        8.0,
        FROM,
        field("frame.front_curve_d"),
        "stop",
    ),
    Edge(
        "wrap-range",
        "most_d",
        3.0,
        ABOVE,
        field("prescription.right.sphere"),
        besides={"frame.front_curve_d": 8.0},
    ),
    # Curves and stock
    Edge(
        "base-curve-for-power",
        "apart_d",
        4.0,
        ABOVE,
        lambda q: {"lenses.left.base_curve_d": 5.0 + q},
        eye="left",
    ),
    Edge(
        "base-curve-for-power",
        "follows_frame_d",
        1.0,
        ABOVE,
        lambda q: {"lenses.left.base_curve_d": 10.0, "frame.front_curve_d": 10.0 - q},
        eye="left",
    ),
    Edge(
        "in-range",
        "stock_cylinder_d",
        2.0,
        UP_TO,
        lambda q: {},
        besides={"prescription.right.sphere": -9.5},
        catalogue=lambda q: {"designs.progressive.cylinder_max": q},
    ),
    # Safety
    Edge("safety-job", "high_impact_mm", 2.0, BELOW, _centre, "stop", besides=AMERICAN_SAFETY | TOUGH),
    Edge("safety-job", "basic_impact_mm", 3.0, BELOW, _centre, "stop", besides=AMERICAN_SAFETY),
    Edge("safety-job", "basic_in_plus_mm", 2.5, BELOW, _centre, "stop", besides=AMERICAN_SAFETY | STRONG_PLUS),
    Edge(
        "safety-job",
        "strong_plus_d",
        3.0,
        BELOW,
        lambda q: {"prescription.right.sphere": q},
        "stop",
        step=0.25,
        besides=AMERICAN_SAFETY | _centre(2.8),
    ),
    # Binocular balance
    Edge("vertical-imbalance", "most_pd", 1.0, FROM, _imbalance, eye="both", null=NO_PREVIOUS),
    Edge("vertical-imbalance", "slab_pd", 1.5, FROM, _imbalance, eye="both", says="slab-off", null=NO_PREVIOUS),
    Edge("vertical-imbalance", "worn_within_pd", 0.25, ABOVE, _more_imbalance, eye="both"),
    Edge(
        "vertical-imbalance",
        "shared_above_pd",
        6.0,
        ABOVE,
        _imbalance,
        eye="both",
        says="base down on the right lens",
        null=NO_PREVIOUS,
    ),
    # Use of the pair and ordered powers
    Edge(
        "use-and-design",
        "add_from_years",
        50,
        FROM,
        of_age,
        eye="both",
        step=1,
        besides={**SINGLE, "use": "near"},
        null=("prescription.right.add", "prescription.left.add", *NO_PREVIOUS),
    ),
    Edge("working-distance", "add_too_strong_d", 1.0, ABOVE, _add_beyond_a_metre, eye=None),
    Edge(
        "working-distance",
        "add_too_weak_d",
        1.0,
        ABOVE,
        field("prescription.right.add", -1.0, 2.5),
        eye=None,
        besides=of_age(70),
    ),
    Edge("ordered-power", "exact_d", 0.06, ABOVE, _stated_off),
    Edge("ordered-power", "rounding_d", 0.125, ABOVE, _stated_off, besides=CARRIED_NOWHERE),
    # Days
    Edge(
        "promise-date",
        "single_vision_days",
        3,
        BELOW,
        lambda q: {"needed_on": {2: "2026-11-27", 3: "2026-11-30", 4: "2026-12-01"}[round(q)]},
        eye=None,
        step=1,
        besides=SINGLE,
    ),
    Edge(
        "promise-date",
        "special_days",
        10,
        BELOW,
        lambda q: {"needed_on": f"2026-12-{round(q) - 1:02d}"},
        eye=None,
        step=1,
        besides={"lenses.right.treatments": ["tint-light"], "lenses.left.treatments": ["tint-light"]},
    ),
    Edge(
        "promise-date",
        "latest_days",
        180,
        ABOVE,
        lambda q: {"needed_on": (ORDERED_ON + timedelta(days=round(q))).isoformat()},
        eye=None,
        step=1,
    ),
    Edge("dates-make-sense", "oldest_years", 105, ABOVE, of_age, eye=None, step=1),
)
