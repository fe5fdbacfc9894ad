"""One row of a comparison: what the check would say of the order with that choice, and its report's figures. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from orders.documents.lens_option import OptionFinding
from orders.documents.lens_order import EYES, Eye, LensOrder
from orders.documents.order_report import Computed, Verdict
from orders.options.lenses.bodies import Body
from orders.options.lenses.judged import Judged
from orders.options.lenses.row_table import RowTable
from orders.rules.case import Case
from orders.rules.computed import computed


@dataclass(frozen=True, eq=False)
class JudgedRow:
    """Whatever takes long is worked out when it is asked for."""

    table: RowTable
    judged: Judged
    number: int

    @property
    def order(self) -> LensOrder:
        """The order with this choice: what is checked and shown of it is what the row says."""
        return self.table.order_of(self.number)

    @property
    def case(self) -> Case:
        return self.table.on(self.number)

    @property
    def verdict(self) -> Verdict:
        return self.judged.verdict(self.number)

    @property
    def can_be_made(self) -> bool:
        """Whether nothing stops the order with this choice."""
        return self.verdict != "stop"

    @cached_property
    def findings(self) -> tuple[OptionFinding, ...]:
        return self.judged.findings(self.number)

    @cached_property
    def computed(self) -> Computed:
        """The computed figures of the report on the order with this choice."""
        return computed(self.case)

    def body(self, eye: Eye) -> Body | None:
        """The edged lens of one eye; None if no lens is ordered for it or its body is not known."""
        return self.table.body(self.number, eye)

    @cached_property
    def weight_pair_g(self) -> float | None:
        """Both lenses together; None for a single lens, or if either is not known."""
        right, left = (self.body(eye) for eye in EYES)
        return None if right is None or left is None else right.weight_g + left.weight_g
