"""``lens-catalogue/1``: what one lab offers, with the limits from its own data sheets.

Unlike an order, a catalogue must be complete: a design without a power range could not be checked
against. Optional keys of a design or treatment may be null or absent.
"""

from __future__ import annotations

from functools import cached_property
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, field_validator

from dispensing.documents import Day, DocumentPart, list_or_nothing, object_or_nothing, parse
from dispensing.trade.light import as_share
from orders.documents.lens_order import Mount

FORMAT = "lens-catalogue/1"

DesignKind = Literal["single_vision", "bifocal", "trifocal", "progressive", "office"]
TreatmentKind = Literal["hard", "antireflection", "tint", "photochromic", "polarised", "mirror", "other"]
Need = Literal["vertex", "pantoscopic", "face_form"]
Range = Annotated[tuple[float, ...], Field(min_length=2, max_length=2)]


class Material(DocumentPart):
    id: str
    name: str
    index: float
    abbe: float | None = None
    density_g_cm3: float | None = None
    min_centre_mm: float | None = None
    min_edge_mm: dict[Mount, float | None] = Field(default_factory=dict)
    drillable: bool | None = None
    impact_resistant: bool | None = None

    _edges = field_validator("min_edge_mm", mode="before")(object_or_nothing)


class Corridor(DocumentPart):
    """``length_mm`` runs from the fitting cross down to the centre of the near circle."""

    length_mm: float
    min_height_mm: float | None = None


FULL_WIDTH_WORDS = frozenset({"e", "e-line", "full", "full width", "straight"})
"""Shapes of a segment that takes the whole width of the lens below a straight line."""


class Segment(DocumentPart):
    shape: str | None = None
    width_mm: float | None = None
    depth_mm: float | None = None
    inset_mm: float | None = None
    below_centre_mm: float | None = None

    @property
    def is_full_width(self) -> bool:
        return (self.shape or "").strip().lower() in FULL_WIDTH_WORDS


class Blank(DocumentPart):
    """``centre_in_mm``/``centre_up_mm``: the uncut lens's centre, from the prism reference point."""

    diameter_mm: float
    centre_in_mm: float = 0.0
    centre_up_mm: float = 0.0


class BaseCurveRow(DocumentPart):
    """A 1.530 tooling curve for mean spheres from ``from_d`` to ``to_d``."""

    from_d: float
    to_d: float
    curve_d: float


class Design(DocumentPart):
    id: str
    name: str
    kind: DesignKind
    materials: tuple[str, ...] = ()
    sphere: Range | None = None
    cylinder_max: float | None = None
    add: Range | None = None
    prism_max: float | None = None
    corridors: tuple[Corridor, ...] = ()
    clearance_above_mm: float | None = None
    near_inset_mm: float | None = None
    near_zone_radius_mm: float | None = None
    cross_above_prism_point_mm: float | None = None
    segment: Segment | None = None
    blanks: tuple[Blank, ...] = ()
    base_curves: tuple[BaseCurveRow, ...] = ()
    needs: tuple[Need, ...] = ()
    compensated: bool | None = None

    _lists = field_validator("corridors", "blanks", "base_curves", "needs", "materials", mode="before")(list_or_nothing)


class Treatment(DocumentPart):
    id: str
    name: str
    kind: TreatmentKind
    materials: tuple[str, ...] = ()
    excludes: tuple[str, ...] = ()
    luminous_transmittance: Annotated[float, AfterValidator(as_share)] | None = None
    """A fraction from 0 to 1; a catalogue may give it in per cent."""

    _lists = field_validator("materials", "excludes", mode="before")(list_or_nothing)


class PriceRow(DocumentPart):
    """What a lens costs: of this design, in this material, with this treatment; null means any of them."""

    design: str | None = None
    material: str | None = None
    treatment: str | None = None
    amount: float | None = None
    currency: str | None = None


class LensCatalogue(DocumentPart):
    format: Literal["lens-catalogue/1"]
    lab: str
    issued_on: Day | None = None
    materials: tuple[Material, ...] = ()
    designs: tuple[Design, ...] = ()
    treatments: tuple[Treatment, ...] = ()
    prices: tuple[PriceRow, ...] = ()

    _prices = field_validator("prices", mode="before")(list_or_nothing)

    @cached_property
    def _materials(self) -> dict[str, Material]:
        return {material.id: material for material in self.materials}

    @cached_property
    def _designs(self) -> dict[str, Design]:
        return {design.id: design for design in self.designs}

    @cached_property
    def _treatments(self) -> dict[str, Treatment]:
        return {treatment.id: treatment for treatment in self.treatments}

    def material(self, id: str | None) -> Material | None:
        return self._materials.get(id) if id is not None else None

    def design(self, id: str | None) -> Design | None:
        return self._designs.get(id) if id is not None else None

    def treatment(self, id: str | None) -> Treatment | None:
        return self._treatments.get(id) if id is not None else None


def parse_catalogue(text: str | bytes) -> LensCatalogue:
    """Read a ``lens-catalogue/1``; raises :class:`dispensing.documents.InvalidDocument`."""
    return parse(LensCatalogue, text, format_name=FORMAT)
