"""What is to be made for one eye, which is not always what was prescribed: the power, and the PD it is centred by.

A prescription says what an eye needs; the use of the pair says at which distance. Everything about the lens (blank,
thickness, weight, drawing, paper, the rules about all of these) reads the power and the PD from here, and only what is
about the prescription reads the prescription. This module must never judge.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from dispensing.optics import centration
from dispensing.optics.errors import OpticsError
from dispensing.trade import Limits
from dispensing.trade.position_of_wear import possible_vertex_mm
from orders.documents.lens_catalogue import DesignKind
from orders.documents.lens_order import Eye, FittedEye, LensOrder, OrderedPower, PrescribedEye, Use
from orders.documents.order_report import PdBy, PowerBy
from orders.rules.powers import WrittenPower

MULTIFOCAL = frozenset({"bifocal", "trifocal", "progressive", "office"})
CLOSE: frozenset[Use] = frozenset({"near", "intermediate"})
"""Uses at which the eyes converge, so that a lens is centred by the near PD."""


@dataclass(frozen=True)
class ToBeMade:
    """One eye of an order. kind: of its design, or None if that is not known."""

    order: LensOrder
    eye: Eye
    kind: DesignKind | None = None

    @property
    def use(self) -> Use | None:
        """What the pair is for, as the order says, else as the prescription says."""
        return self.order.pair_use

    @property
    def is_for_close_work(self) -> bool:
        """Whether the whole lens is for near or intermediate. A multifocal is centred for the distance at any use."""
        return self.use in CLOSE and self.kind not in MULTIFOCAL

    @cached_property
    def power(self) -> WrittenPower:
        """The power at the reference point: as stated in the order, else as it follows from prescription and use."""
        if self._stated is not None:
            stated = WrittenPower.ordered(self._stated, self.prescribed)
            return stated.with_add(0.0) if self.is_for_close_work else stated
        return self.power_that_follows

    @cached_property
    def power_that_follows(self) -> WrittenPower:
        """The power that follows from prescription and use alone, whatever the order states."""
        add = self.add_for_use
        return self.prescribed if add is None else self.prescribed.with_add(add)

    @cached_property
    def power_by(self) -> PowerBy:
        """Where the power comes from; a stated one that follows from prescription and use comes from those."""
        if self._stated is not None and self.power != self.power_that_follows:
            return "order"
        if self.add_for_use is None:
            return "prescription"
        if self.use == "near":
            return "near"
        return "intermediate" if self._written.intermediate_add else "half_the_add"

    @cached_property
    def pd_mm(self) -> float | None:
        """The PD of the use in mm: the far one, or for near the one measured, else worked out."""
        return self._pd[0]

    @cached_property
    def pd_by(self) -> PdBy | None:
        """Where the PD comes from; None if there is none."""
        return self._pd[1]

    @property
    def far_pd_mm(self) -> float | None:
        """The far PD of this eye, whatever the pair is for."""
        return self._far[0]

    @cached_property
    def near_inset_mm(self) -> float | None:
        """Far minus near PD at the working distance, behind the distance power; None if either is not known."""
        far, work, power = self._far[0], self.order.fitting.near_distance_mm, self._distance_power.optical
        if far is None or work is None or power is None:
            return None
        vertex = possible_vertex_mm(self._fitted.vertex_mm, Limits())
        try:
            return centration.near_inset(far, work, vertex, power.power_along(180.0))
        except OpticsError:
            return None

    @cached_property
    def near_pd_mm(self) -> float | None:
        """The near PD worked out from the far one."""
        far, inset = self._far[0], self.near_inset_mm
        return None if far is None or inset is None else far - inset

    @cached_property
    def prescribed(self) -> WrittenPower:
        return WrittenPower.of(self._written)

    @property
    def _written(self) -> PrescribedEye:
        return self.order.prescription.eye(self.eye)

    @property
    def _fitted(self) -> FittedEye:
        return self.order.fitting.eye(self.eye)

    @property
    def _stated(self) -> OrderedPower | None:
        """The power stated in the order; one without a sphere says nothing that could be made."""
        lens = self.order.lenses.eye(self.eye)
        power = None if lens is None else lens.power
        return None if power is None or power.sphere is None else power

    @property
    def add_for_use(self) -> float | None:
        """What is added to the prescribed sphere for the use; None if nothing is."""
        near = self._written.add or None
        if not self.is_for_close_work:
            return None
        if self.use == "near":
            return near
        return self._written.intermediate_add or (None if near is None else near / 2.0)

    @property
    def _distance_power(self) -> WrittenPower:
        """The power that the eye looks through far off: the one to be made, unless the whole lens is for near."""
        return self.prescribed if self.is_for_close_work else self.power

    @cached_property
    def _far(self) -> tuple[float | None, PdBy | None]:
        """The far PD of this eye, or half of the binocular one if neither eye was measured on its own."""
        fitting = self.order.fitting
        if self._fitted.pd_mm is not None:
            return self._fitted.pd_mm, "far"
        both = fitting.binocular_pd_mm
        if both is None or fitting.right.pd_mm is not None or fitting.left.pd_mm is not None:
            return None, None
        return both / 2.0, "half_the_binocular"

    @cached_property
    def _pd(self) -> tuple[float | None, PdBy | None]:
        if not self.is_for_close_work:
            return self._far
        if self._fitted.near_pd_mm is not None:
            return self._fitted.near_pd_mm, "near_measured"
        return (None, None) if self.near_pd_mm is None else (self.near_pd_mm, "near_computed")
