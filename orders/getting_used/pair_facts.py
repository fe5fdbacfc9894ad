"""One pair as the eyes meet it: powers, prism, curves, where the lenses sit.

From an order that was sent, or from a pair read on the lensmeter. What is not known stays None; nothing is assumed.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispensing.optics.errors import OpticsError
from dispensing.optics.magnification import MagnifyingLens
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism
from dispensing.optics.surface import true_from_marked
from dispensing.trade import figure
from orders.documents.finished_pair import EyeReadings, FinishedReadings
from orders.documents.lens_order import EYES, Eye, LensOrder, PrescribedEye, PresentSpectacles, PrismPart
from orders.documents.order_report import ComputedEye, OrderReport
from orders.documents.words import extra_of

SINGLE_VISION = "single_vision"


@dataclass(frozen=True)
class EyeFacts:
    """One lens. Powers in D, prism in Δ, lengths in mm; ``prism`` is none only if it is known that there is none."""

    power: SphereCylinder | None = None
    add_d: float | None = None
    prism: Prism | None = None
    base_curve_d: float | None = None
    centre_thickness_mm: float | None = None
    index: float | None = None
    corridor_mm: float | None = None
    height_mm: float | None = None
    pd_mm: float | None = None
    vertex_mm: float | None = None
    kind: str | None = None

    @property
    def magnifying(self) -> MagnifyingLens | None:
        """What decides the size of the image at the entrance pupil, along the mean power; None if any is unknown."""
        curve, thickness, index, vertex = self.base_curve_d, self.centre_thickness_mm, self.index, self.vertex_mm
        if self.power is None or curve is None or thickness is None or index is None or vertex is None:
            return None
        to_the_pupil = vertex + figure("what-differs", "entrance_pupil_mm")
        try:
            front = true_from_marked(curve, index)
            return MagnifyingLens(self.power.mean_sphere, front, thickness, index, to_the_pupil)
        except OpticsError:
            return None


@dataclass(frozen=True)
class PairFacts:
    """``name``: what the pair is called on the page."""

    name: str
    right: EyeFacts
    left: EyeFacts
    tilt_deg: float | None = None
    face_form_deg: float | None = None

    def eye(self, eye: Eye) -> EyeFacts:
        return self.right if eye == "right" else self.left


def of_order(name: str, order: LensOrder, report: OrderReport) -> PairFacts:
    """The pair as ordered, with the figures that the check worked out when it was sent."""
    eyes = {eye: _ordered(order, eye, getattr(report.computed, eye)) for eye in EYES}
    fitting = order.fitting
    return PairFacts(name, eyes["right"], eyes["left"], fitting.pantoscopic_deg, fitting.face_form_deg)


def of_worn(name: str, worn: PresentSpectacles) -> PairFacts:
    """The pair as the lensmeter reads it, with the sizes that were taken."""
    eyes = {eye: _worn(worn, eye) for eye in EYES}
    return PairFacts(name, eyes["right"], eyes["left"])


def of_readings(name: str, readings: FinishedReadings, ordered: PairFacts) -> PairFacts:
    """The pair as it was read when it came in; what it is made of is as ordered."""
    eyes = {eye: _read(readings.eye(eye), ordered.eye(eye)) for eye in EYES}
    return PairFacts(name, eyes["right"], eyes["left"])


def of_prescription(name: str, order: LensOrder) -> PairFacts:
    """What was prescribed: powers and prism alone."""
    eyes = {eye: _line(order.prescription.eye(eye)) for eye in EYES}
    return PairFacts(name, eyes["right"], eyes["left"])


def _ordered(order: LensOrder, eye: Eye, computed: ComputedEye) -> EyeFacts:
    lens, made = order.lenses.eye(eye), computed.power
    if lens is None:
        return EyeFacts()
    kind = extra_of(lens, "design_kind")
    line = None if made is None else made
    return EyeFacts(
        power=None if line is None else _power(line.sphere, line.cylinder, line.axis),
        add_d=None if kind == SINGLE_VISION else order.prescription.eye(eye).add,
        prism=None if line is None else _prism(line.prism),
        base_curve_d=lens.base_curve_d if lens.base_curve_d is not None else computed.base_curve_d,
        centre_thickness_mm=computed.shown("centre_thickness_mm"),
        index=extra_of(lens, "index"),
        corridor_mm=lens.corridor_mm,
        height_mm=order.fitting.eye(eye).height_mm,
        pd_mm=computed.pd_used_mm,
        vertex_mm=order.fitting.eye(eye).vertex_mm,
        kind=kind,
    )


def _worn(worn: PresentSpectacles, eye: Eye) -> EyeFacts:
    sizes = extra_of(worn, eye)
    sizes = sizes if isinstance(sizes, dict) else {}
    line = _line(worn.eye(eye))
    return EyeFacts(
        line.power,
        line.add_d,
        line.prism,
        base_curve_d=sizes.get("base_curve_d"),
        height_mm=sizes.get("height_mm"),
        kind=extra_of(worn, "design_kind"),
    )


def _read(found: EyeReadings | None, ordered: EyeFacts) -> EyeFacts:
    if found is None:
        return EyeFacts()
    across, up = found.prism_in, found.prism_up
    return EyeFacts(
        power=_power(found.sphere, found.cylinder, found.axis),
        add_d=found.add if found.add is not None else ordered.add_d,
        prism=None if across is None and up is None else Prism(across or 0.0, up or 0.0),
        base_curve_d=found.base_curve_d,
        centre_thickness_mm=found.centre_thickness_mm,
        index=ordered.index,
        height_mm=found.height_mm,
        pd_mm=found.pd_mm,
        kind=ordered.kind,
    )


def _line(line: PrescribedEye) -> EyeFacts:
    power = _power(line.sphere, line.cylinder, line.axis)
    return EyeFacts() if power is None else EyeFacts(power, line.add, _prism(line.prism))


def _power(sphere: float | None, cylinder: float | None, axis: float | None) -> SphereCylinder | None:
    try:
        return None if sphere is None else SphereCylinder.written(sphere, cylinder or None, axis)
    except OpticsError:
        return None


def _prism(parts: tuple[PrismPart, ...]) -> Prism | None:
    total = Prism()
    for part in parts:
        if part.amount and part.base is None:
            return None
        if part.amount:
            total = total + Prism.from_base(part.amount, part.base)
    return total
