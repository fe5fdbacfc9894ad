"""What every rule reads: the order with its catalogue entries found, eye by eye, and the figures on demand.

It is built once for each check. Anything costly is worked out only when a rule asks for it, and then kept. This
module must never judge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from dispensing.optics.errors import OpticsError
from dispensing.optics.imbalance import VerticalImbalance, vertical_imbalance
from dispensing.optics.magnification import MagnifyingLens, image_size_difference_percent
from dispensing.optics.power import SphereCylinder
from dispensing.optics.surface import true_from_marked
from dispensing.trade import Limits
from dispensing.trade.position_of_wear import possible_vertex_mm
from dispensing.trade.tolerances import tolerance_set
from orders.documents.lens_catalogue import LensCatalogue, Material
from orders.documents.lens_order import EYES, LensOrder
from orders.documents.order_report import FindingEye
from orders.rules.compare import above
from orders.rules.eye_facts import EyeFacts, frame_pd_mm
from orders.rules.figures import Figures
from orders.rules.frame_shape import FrameShapes
from orders.rules.wearer_remarks import WearerRemarks
from orders.rules.worked_out import figure

FINISHED_PRISM = tolerance_set("iso-21987-2017").named("vertical_to_2_weak_pd")
"""What a finished pair may bring of vertical prism, and up to which power that is a prism and no shift."""


@dataclass(frozen=True)
class EyeCase(EyeFacts):
    """One eye with the figures worked out for it, and the case it belongs to."""

    case: Case

    @cached_property
    def figures(self) -> Figures:
        return Figures(self)

    @property
    def name(self) -> str:
        """``right eye``."""
        return f"{self.eye} eye"

    @property
    def is_not_seen_with(self) -> bool:
        """Poor sight, a lens not to be seen through, neither lens nor power, or a remark: any of these is enough."""
        instructed = self.lens is not None and self.lens.instruction is not None
        nothing = self.lens is None and self.prescribed.sphere is None
        remarked = self.eye in self.case.remarks.unseeing
        return instructed or nothing or remarked or self.acuity.is_at_most(self.case.poor_acuity)

    @property
    def worn_vertex_mm(self) -> float | None:
        """The worn vertex distance if it is plausible, for everything that is worked out from it."""
        return possible_vertex_mm(self.fitted.vertex_mm, self.case.limits)

    @property
    def magnifying(self) -> MagnifyingLens | None:
        """What decides the size of this eye's image; None if too little is known."""
        body, curve, vertex = self.figures.body_as_made, self.figures.base_curve_d, self.worn_vertex_mm
        if body is None or curve is None or vertex is None or self.material is None:
            return None
        front, mean = true_from_marked(curve, self.material.index), body.power.mean_sphere
        return MagnifyingLens(mean, front, body.centre_thickness_mm, self.material.index, vertex)

    @cached_property
    def materials_on_offer(self) -> tuple[Material, ...]:
        """Materials in which any lens of this kind is available and which this mount allows."""
        drilled = self.order.frame.mount == "drilled"
        kinds = [design for design in self.catalogue.designs if self.kind in (None, design.kind)]
        offered = frozenset(id for design in kinds for id in design.materials)
        in_all = any(not design.materials for design in kinds)
        return tuple(
            one
            for one in self.catalogue.materials
            if (in_all or one.id in offered) and not (drilled and one.drillable is False)
        )

    def at(self, part: str) -> str:
        """The order's key for a part of this eye: ``at("fitting.height_mm")`` → ``fitting.right.height_mm``."""
        section, key = part.split(".", 1)
        return f"{section}.{self.eye}.{key}"


@dataclass(frozen=True)
class Case:
    """One order, its catalogue, the other orders it is compared with, and today for an order without a date."""

    order: LensOrder
    catalogue: LensCatalogue
    others: Sequence[LensOrder] = ()
    limits: Limits = field(default_factory=Limits)
    today: date | None = None

    @cached_property
    def right(self) -> EyeCase:
        return EyeCase(self.order, self.catalogue, self.shapes, "right", self)

    @cached_property
    def left(self) -> EyeCase:
        return EyeCase(self.order, self.catalogue, self.shapes, "left", self)

    @cached_property
    def both(self) -> tuple[EyeCase, EyeCase]:
        """Both eyes, ordered or not: for rules about the prescription."""
        return self.right, self.left

    @cached_property
    def eyes(self) -> tuple[EyeCase, ...]:
        """The eyes a lens is ordered for, right first."""
        return tuple(eye for eye in self.both if eye.lens is not None)

    @property
    def pair_or_eye(self) -> FindingEye:
        """The eye named by a finding about everything ordered: both, or the only eye."""
        return self.eyes[0].eye if len(self.eyes) == 1 else "both"

    @cached_property
    def is_pair(self) -> bool:
        return len(self.eyes) == len(EYES)

    @cached_property
    def shapes(self) -> FrameShapes:
        return FrameShapes.of(self.order.frame)

    @cached_property
    def age(self) -> int | None:
        """The wearer's age in whole years, as far as the order gives it."""
        return self.order.age_of_wearer(self.today)

    @cached_property
    def remarks(self) -> WearerRemarks:
        """What the remarks say of the wearer."""
        return WearerRemarks(self.order.remarks or "")

    @cached_property
    def is_driver(self) -> bool:
        """Whether the record or a remark says that the wearer drives. If they disagree, a rule asks."""
        return self.order.patient.driver is True or self.remarks.drives is not None

    @cached_property
    def is_one_eyed(self) -> bool:
        """One eye is seen with and the other is not, whichever it is."""
        if self.right.is_not_seen_with and self.left.is_not_seen_with:
            return False
        return self.right.is_not_seen_with or self.left.is_not_seen_with or self.remarks.one_eyed is not None

    @cached_property
    def has_two_poor_eyes(self) -> bool:
        return all(eye.acuity.is_at_most(self.poor_acuity) for eye in self.both)

    @cached_property
    def is_only_pair(self) -> bool:
        """Somebody asked, and there is no other. Not having asked is not the same: a rule asks then."""
        return self.order.other_pair is False

    @property
    def is_compensated_here(self) -> bool:
        """Whether the practice itself allowed for where or how the lenses are worn."""
        return self.order.power_basis in ("carried_to_vertex", "as_worn")

    @figure
    def image_sizes_differ_percent(self) -> float | None:
        """By how many per cent the right eye's image is larger than the left eye's because of lens shape and power."""
        right, left = (eye.magnifying for eye in self.both)
        return None if right is None or left is None else image_size_difference_percent(right, left)

    @cached_property
    def powers(self) -> tuple[SphereCylinder, SphereCylinder] | None:
        """The right and left powers to be made, or None if either cannot be used."""
        right, left = self.right.made_power.optical, self.left.made_power.optical
        return None if right is None or left is None else (right, left)

    @cached_property
    def imbalance(self) -> VerticalImbalance | None:
        """The vertical prism of both eyes at the reading level besides what is prescribed, by Prentice's rule, or
        by exact rays where that makes more difference than the tolerance on a finished pair; with unequal adds.
        """
        if self.powers is None:
            return None
        try:
            found = vertical_imbalance(*self.powers)
        except OpticsError:
            return None
        traced = self._traced_imbalance
        if traced is not None and above(abs(traced.signed_pd - found.signed_pd), FINISHED_PRISM.value):
            found = traced
        return VerticalImbalance(*(up + add for up, add in zip(found.both, self._unequal_adds_pd, strict=True)))

    @property
    def vertical_imbalance_pd(self) -> float | None:
        """Unequal vertical prism in Δ, 10 mm below the reference points, without sign."""
        return None if self.imbalance is None else self.imbalance.magnitude_pd

    @property
    def _traced_imbalance(self) -> VerticalImbalance | None:
        """The same by exact rays; None for weak lenses, whose rays cannot differ by so much, and unknown bodies."""
        strong = FINISHED_PRISM.bands["power"].most
        if not any(above(abs(power.power_along(90.0)), strong) for power in self.powers or ()):
            return None
        right, left = (eye.figures.traced_reading_prism_up_pd for eye in self.both)
        return None if right is None or left is None else VerticalImbalance(right, left)

    @property
    def _unequal_adds_pd(self) -> tuple[float, float]:
        """What unequal adds bring; equal ones cancel."""
        right, left = (eye.figures.add_prism_up_pd for eye in self.both)
        if right is None or left is None or self.right.power.add == self.left.power.add:
            return 0.0, 0.0
        return right, left

    @property
    def tested_vertex_mm(self) -> float | None:
        """The vertex distance of the test, if it is plausible."""
        return possible_vertex_mm(self.order.prescription.vertex_mm, self.limits)

    @property
    def binocular_pd_mm(self) -> float | None:
        """The sum of the monocular PDs, else the binocular PD as given."""
        total = self.monocular_sum_mm
        return self.order.fitting.binocular_pd_mm if total is None else total

    @figure
    def monocular_sum_mm(self) -> float | None:
        right, left = self.right.fitted.pd_mm, self.left.fitted.pd_mm
        return None if right is None or left is None else right + left

    @figure
    def frame_pd_mm(self) -> float | None:
        """A + DBL: the distance between the box centres."""
        return frame_pd_mm(self.order.frame)

    @property
    def poor_acuity(self) -> float:
        """The decimal acuity at or below which an eye counts as poor: 6/60, 20/200, 1.0 logMAR."""
        return self.limit("low-acuity-eye", "poor_acuity")

    def limit(self, rule: str, name: str) -> float:
        return self.limits.of(rule, name)
