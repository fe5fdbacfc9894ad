"""The case of one row by itself: as the check would build it, except that what the table knows is filled in. Pure."""

from __future__ import annotations

from functools import cached_property

from dispensing.optics.lens_body import LensBody
from orders.documents.lens_catalogue import Material
from orders.documents.lens_order import Eye
from orders.options.lenses.known import Known
from orders.rules.case import Case, EyeCase
from orders.rules.figures import Figures


class AloneFigures(Figures):
    """Figures whose lens in another material the table works out for all rows at once."""

    _eye: AloneEye

    def body_in(self, material: Material) -> LensBody | None:
        case = self._eye.case
        body: LensBody | None = case.table.bodies_in(self._eye.eye, material).of(case.number)
        return body


class AloneEye(EyeCase):
    case: AloneCase

    @cached_property
    def figures(self) -> Figures:
        return AloneFigures(self)


class AloneCase(Case):
    """number: of the row in the table."""

    table: Known
    number: int

    @cached_property
    def right(self) -> EyeCase:
        return self._eye("right")

    @cached_property
    def left(self) -> EyeCase:
        return self._eye("left")

    def _eye(self, eye: Eye) -> EyeCase:
        return AloneEye(self.order, self.catalogue, self.shapes, eye, self)
