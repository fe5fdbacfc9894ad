"""What one lens of the finished pair should be: the power to be made, or what the lab states as compensated.

The order as sent is the measure, not the prescription: a lens made exactly to a wrong order is the practice's own
mistake. Where the lab states compensated powers, the tolerance applies to those (ISO 8980-1:2004, 5.2; ANSI
Z80.1-2015). This module must never judge.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from dispensing.optics.prism import Prism
from dispensing.trade.tolerances import LensClass
from orders.documents.finished_pair import CompensatedPower, FinishedReadings
from orders.documents.lens_catalogue import DesignKind, LensCatalogue
from orders.documents.lens_order import Eye, LensOrder, OrderedLens
from orders.rules.powers import WrittenPower
from orders.rules.to_be_made import MULTIFOCAL, ToBeMade
from orders.verification.readable import readable

NOT_READ_FOR_POWER = ("occluder", "frosted")
CLASSES: dict[DesignKind, LensClass] = {
    "single_vision": "single_vision",
    "bifocal": "multifocal",
    "trifocal": "multifocal",
    "progressive": "progressive",
    "office": "progressive",
}


@dataclass(frozen=True)
class OrderedEye:
    """One lens as it should be; lengths in mm, powers in D. is_stated_by_lab: whether the lab compensated the power."""

    eye: Eye
    lens_class: LensClass
    power: WrittenPower
    add: float | None
    prism: Prism
    pd_mm: float | None
    height_mm: float | None
    centre_thickness_mm: float | None
    base_curve_d: float | None
    is_mounted: bool
    is_stated_by_lab: bool = False

    @property
    def cylinder(self) -> float:
        """The cylinder in D as written; 0 for none."""
        return self.power.cylinder or 0.0

    def along(self, meridian_deg: float) -> float:
        """The power in D along a meridian, without sign; 0 if the power is not complete."""
        optical = self.power.optical
        return 0.0 if optical is None else abs(optical.power_along(meridian_deg))


def ordered_eye(
    order: LensOrder, readings: FinishedReadings, eye: Eye, catalogue: LensCatalogue | None = None
) -> OrderedEye | None:
    """The lens as it should be; None if it is not ordered, or is one that nobody looks through."""
    lens = order.lenses.eye(eye)
    if lens is None or lens.instruction in NOT_READ_FOR_POWER:
        return None
    kind = _kind(order, lens, eye, catalogue)
    made = ToBeMade(order, eye, kind)
    prism = made.power.prism
    as_ordered = OrderedEye(
        eye=eye,
        lens_class=CLASSES[kind],
        power=made.power,
        add=readable(made.power.add) if kind in MULTIFOCAL else None,
        prism=Prism() if prism is None else prism,
        pd_mm=readable(made.pd_mm),
        height_mm=readable(order.fitting.eye(eye).height_mm),
        centre_thickness_mm=readable(lens.centre_thickness_mm),
        base_curve_d=readable(lens.base_curve_d),
        is_mounted=order.supply in (None, "fitted"),
    )
    stated = None if readings.compensated is None else readings.compensated.eye(eye)
    return as_ordered if stated is None else _compensated(as_ordered, stated)


def _kind(order: LensOrder, lens: OrderedLens, eye: Eye, catalogue: LensCatalogue | None) -> DesignKind:
    """By the catalogue, else as the order says; else a corridor makes it progressive, and an add in use multifocal."""
    design = None if catalogue is None else catalogue.design(lens.design)
    if design is not None:
        return design.kind
    said = (lens.extra or {}).get("design_kind")
    if said in CLASSES:
        kind: DesignKind = said
        return kind
    if lens.corridor_mm is not None:
        return "progressive"
    has_add = bool(order.prescription.eye(eye).add)
    return "bifocal" if has_add and order.pair_use in (None, "distance_and_near") else "single_vision"


def _compensated(ordered: OrderedEye, stated: CompensatedPower) -> OrderedEye:
    power = ordered.power
    if stated.sphere is not None:
        power = replace(power, sphere=stated.sphere, cylinder=stated.cylinder or None, axis=stated.axis)
    prism_in, prism_up = readable(stated.prism_in), readable(stated.prism_up)
    prism = Prism(
        ordered.prism.in_pd if prism_in is None else prism_in, ordered.prism.up_pd if prism_up is None else prism_up
    )
    add = ordered.add if ordered.add is None or stated.add is None else readable(stated.add)
    return replace(ordered, power=power, prism=prism, add=add, is_stated_by_lab=True)
