"""The table of frames: a row for each frame, for one order with its lenses. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from dispensing.trade import Limits
from orders.documents.lens_catalogue import DesignKind, LensCatalogue, Material
from orders.documents.lens_order import EYES, Eye, FittedEye, FramePart, LensOrder
from orders.options.frames.in_frame import AssumedHeights, heights_in
from orders.options.lenses.columns import Column
from orders.options.lenses.reads import Key, NotedPart, Reading
from orders.options.lenses.row_table import RowTable, numbered, with_values
from orders.options.lenses.watched import owner_of

FRAME_KEYS = tuple(FramePart.model_fields)
FITTED = {"right fitted": "right", "left fitted": "left"}


@dataclass(frozen=True, eq=False)
class FrameOffer:
    """A frame as it would stand in the order, and where the eyes are taken to lie in it."""

    frame: FramePart
    heights: AssumedHeights


class FrameTable(RowTable):
    """Frames for one order, which must have a lens for each eye that is to be compared."""

    GIVEN = ("frame", *FITTED)

    def __init__(
        self,
        order: LensOrder,
        catalogue: LensCatalogue,
        frames: Sequence[FramePart],
        *,
        others: Sequence[LensOrder] = (),
        limits: Limits | None = None,
        today: date | None = None,
    ):
        super().__init__(order, catalogue, len(frames), others=others, limits=limits, today=today)
        source = order.frame.source
        self.offers = [
            FrameOffer(with_values(frame, source=source), heights_in(order, frame, self.kinds)) for frame in frames
        ]

    @cached_property
    def kinds(self) -> dict[Eye, DesignKind | None]:
        """The kind of design of each lens ordered."""
        designs = {eye: self.designs[eye] for eye in self.order.ordered_eyes}
        return {eye: design.kind if design else None for eye, design in designs.items()}

    @cached_property
    def designs(self) -> dict[Eye, Any]:
        lenses = {eye: self.order.lenses.eye(eye) for eye in EYES}
        return {eye: self.catalogue.design(lens.design) if lens else None for eye, lens in lenses.items()}

    @cached_property
    def materials(self) -> dict[Eye, Any]:
        lenses = {eye: self.order.lenses.eye(eye) for eye in EYES}
        return {eye: self.catalogue.material(lens.material) if lens else None for eye, lens in lenses.items()}

    def order_of(self, number: int, reading: Reading | None = None) -> LensOrder:
        """The order with this frame and the heights assumed in it; everything else in its fitting stays."""
        offer, fitting = self.offers[number], self.order.fitting
        right, left = (self._fitted(offer, eye, reading) for eye in EYES)
        frame: Any = offer.frame if reading is None else NotedPart(offer.frame, "frame", FRAME_KEYS, reading)
        order: LensOrder = with_values(self.order, frame=frame, fitting=with_values(fitting, right=right, left=left))
        return order

    def _fitted(self, offer: FrameOffer, eye: Eye, reading: Reading | None) -> Any:
        fitted: FittedEye = with_values(self.order.fitting.eye(eye), height_mm=offer.heights.eye(eye))
        return fitted if reading is None else NotedPart(fitted, f"{eye} fitted", ("height_mm",), reading)

    def parts_of(self, number: int, reading: Reading) -> tuple[Mapping[Eye, Any], Mapping[Eye, Any]]:
        return self.designs, self.materials

    def chosen(self, key: Key) -> Column:
        place, name, *_ = key
        if place == "frame" and name == "shape":
            return self._shapes_given
        if place == "frame" and name == "extra":
            return Column(*reversed(numbered([offer.frame.extra for offer in self.offers])))
        if place == "frame":
            return Column.of_parts(*numbered([getattr(offer.frame, name) for offer in self.offers], by_value=True))
        eye: Eye = "right" if place == "right fitted" else "left"
        return Column.of_parts(*numbered([offer.heights.eye(eye) for offer in self.offers], by_value=True))

    @cached_property
    def _shapes_given(self) -> Column:
        """Traces that are alike, of one frame in several colours, count as one."""
        shapes = [offer.frame.shape for offer in self.offers]
        keys = [None if shape is None else (shape.side, shape.radii_mm) for shape in shapes]
        _, groups = numbered(keys, by_value=True)
        first = {int(group): shape for group, shape in zip(reversed(groups), reversed(shapes), strict=True)}
        return Column(groups, [first[group] for group in range(len(first))])

    def substances(self, place: str, material: Material | None = None) -> Column:
        own = self.materials["right" if place.startswith("right") else "left"]
        return self.each(lambda case: owner_of(case, place).substance_of(material or own))
