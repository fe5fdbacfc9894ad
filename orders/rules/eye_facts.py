"""What an order and its catalogue say about one eye: prescribed, fitted and ordered. It works out nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from dispensing.optics.conventions import other_eye
from dispensing.prescribing.acuity import Acuity
from dispensing.prescribing.acuity import read as read_acuity
from orders.documents.lens_catalogue import Design, DesignKind, LensCatalogue, Material, Treatment
from orders.documents.lens_order import EYES, Eye, FittedEye, FramePart, LensOrder, OrderedLens, PrescribedEye
from orders.documents.names import DESIGN_KINDS
from orders.documents.words import prescribes_balance
from orders.rules.compare import same
from orders.rules.earlier import Earlier, earlier_of, worn_power
from orders.rules.frame_shape import FrameShapes
from orders.rules.powers import WrittenPower
from orders.rules.to_be_made import MULTIFOCAL, ToBeMade

WITH_CROSS = frozenset({"progressive", "office"})


@dataclass(frozen=True)
class EyeFacts:
    """One eye of the order. ``lens`` is None when no lens is ordered for it."""

    order: LensOrder
    catalogue: LensCatalogue
    shapes: FrameShapes
    eye: Eye

    @cached_property
    def prescribed(self) -> PrescribedEye:
        return self.order.prescription.eye(self.eye)

    @property
    def balance_prescribed(self) -> bool:
        """Whether the prescription has a balance lens for this eye; the format has no key of its own for it."""
        return prescribes_balance(self.prescribed)

    @cached_property
    def power(self) -> WrittenPower:
        """The prescribed power."""
        return WrittenPower.of(self.prescribed)

    @cached_property
    def made(self) -> ToBeMade:
        """What is to be made: the power, and the PD that it is centred by."""
        return ToBeMade(self.order, self.eye, self.kind)

    @cached_property
    def made_power(self) -> WrittenPower:
        """The power of the lens itself, for every rule about the lens; `power` is for rules about the prescription."""
        return self.made.power

    @cached_property
    def previous(self) -> PrescribedEye | None:
        previous = self.order.previous_prescription
        return None if previous is None else previous.eye(self.eye)

    @cached_property
    def previous_power(self) -> WrittenPower | None:
        return None if self.previous is None else WrittenPower.of(self.previous)

    @cached_property
    def worn_power(self) -> WrittenPower | None:
        """What the pair worn now reads, if that can be compared with what is prescribed."""
        return worn_power(self.order, self.eye)

    @cached_property
    def earlier(self) -> Earlier | None:
        """What slips of the pen show against: the last prescription, or else the pair worn now."""
        return earlier_of(self.previous_power, self.worn_power)

    @property
    def earlier_power(self) -> WrittenPower | None:
        return self.earlier.power if self.earlier else None

    @cached_property
    def acuity(self) -> Acuity:
        fellow = self.order.prescription.eye(other_eye(self.eye)).acuity
        return read_acuity(self.prescribed.acuity, fellow, self._notation_country)

    @cached_property
    def _notation_country(self) -> str | None:
        """The country whose usual notation decides about bare acuities: none, if anything beside them is in logMAR."""
        parts = [part for part in (self.order.prescription, self.order.previous_prescription) if part is not None]
        written = (part.eye(eye).acuity or "" for part in parts for eye in EYES)
        return None if any("logmar" in text.lower() for text in written) else self.order.practice.country

    @cached_property
    def previous_acuity(self) -> Acuity:
        """The acuity in the last prescription; empty if there is none."""
        previous = self.order.previous_prescription
        fellow = None if previous is None else previous.eye(other_eye(self.eye)).acuity
        return read_acuity(self.previous.acuity if self.previous else None, fellow, self._notation_country)

    @cached_property
    def fitted(self) -> FittedEye:
        return self.order.fitting.eye(self.eye)

    @cached_property
    def lens(self) -> OrderedLens | None:
        return self.order.lenses.eye(self.eye)

    @cached_property
    def design(self) -> Design | None:
        return self.catalogue.design(self.lens.design) if self.lens else None

    @cached_property
    def material(self) -> Material | None:
        return self.catalogue.material(self.lens.material) if self.lens else None

    @cached_property
    def treatments(self) -> tuple[Treatment, ...]:
        """The treatments that the catalogue knows, in the order's sequence."""
        named = self.lens.treatments if self.lens else ()
        found = (self.catalogue.treatment(id) for id in named)
        return tuple(treatment for treatment in found if treatment is not None)

    @property
    def kind(self) -> DesignKind | None:
        """The kind of design, or None when it is not known."""
        return self.design.kind if self.design else None

    @property
    def kind_words(self) -> str:
        """The kind of design in a finding's words: ``single vision``; empty when it is not known."""
        return DESIGN_KINDS[self.kind] if self.kind else ""

    @property
    def is_multifocal(self) -> bool:
        return self.kind in MULTIFOCAL

    @property
    def has_cross(self) -> bool:
        """Whether the lens is placed by a fitting cross (progressive, office)."""
        return self.kind in WITH_CROSS

    @cached_property
    def is_made_in_its_material(self) -> bool:
        """Whether the design is listed in the material, or lists none; true where either is not known."""
        design, material = self.design, self.material
        return design is None or material is None or not design.materials or material.id in design.materials

    @cached_property
    def has_listed_corridor(self) -> bool:
        """Whether the corridor is one that the design lists; true where none is ordered or listed."""
        lens, design = self.lens, self.design
        if lens is None or design is None or lens.corridor_mm is None or not self.has_cross:
            return True
        return _is_listed(lens.corridor_mm, [row.length_mm for row in design.corridors])

    @cached_property
    def has_listed_blank(self) -> bool:
        """Whether the blank is one that the design lists; true where none is ordered or listed."""
        lens, design = self.lens, self.design
        if lens is None or design is None or lens.blank_mm is None:
            return True
        return _is_listed(lens.blank_mm, [row.diameter_mm for row in design.blanks])


def _is_listed(wanted_mm: float, sizes_mm: Sequence[float]) -> bool:
    return not sizes_mm or any(same(wanted_mm, size) for size in sizes_mm)


def frame_pd_mm(frame: FramePart) -> float | None:
    """A + DBL: the distance between the box centres, in mm; None when either is missing."""
    return None if frame.a_mm is None or frame.dbl_mm is None else frame.a_mm + frame.dbl_mm
