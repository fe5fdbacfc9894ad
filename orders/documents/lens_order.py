"""``lens-order/1``: everything that a lab needs to make one pair (or one lens), and everything that the check reads.

Lengths in mm, powers in D, prism in prism dioptres, angles in degrees, axis 1–180 (TABO). Right and left are the
wearer's own, ``in`` is towards the nose, ``up`` towards the brow. Any prescribed or measured value may be absent or
out of range: that is for the check to find, and not a fault in the document's format.
"""

from __future__ import annotations

import math
from datetime import date
from typing import Any, Literal

from pydantic import Field, field_validator

from dispensing.ages import years_between
from dispensing.documents import Day, DocumentPart, WholeNumber, list_given, list_or_nothing, object_or_nothing, parse

FORMAT: Literal["lens-order/1"] = "lens-order/1"

Eye = Literal["right", "left"]
Base = Literal["in", "out", "up", "down"]
Purpose = Literal["new", "remake"]
Mount = Literal["full_rim", "grooved", "drilled"]
FrameSource = Literal["lab_supplies", "enclosed", "to_follow", "own", "trace_only"]
Supply = Literal["uncut", "edged", "fitted"]
Use = Literal["distance", "intermediate", "near", "distance_and_near"]
Instruction = Literal["balance", "occluder", "frosted"]
PowerBasis = Literal["as_prescribed", "carried_to_vertex", "as_worn"]
EYES: tuple[Eye, Eye] = ("right", "left")


class Practice(DocumentPart):
    name: str | None = None
    account: str | None = None
    country: str | None = None


class LabName(DocumentPart):
    name: str | None = None


class PrismPart(DocumentPart):
    amount: float | None = None
    base: Base | None = None


class PrescribedEye(DocumentPart):
    sphere: float | None = None
    cylinder: float | None = None
    axis: float | None = None
    add: float | None = None
    intermediate_add: float | None = None
    prism: tuple[PrismPart, ...] = ()
    acuity: str | None = None

    _prism = field_validator("prism", mode="before")(list_or_nothing)


class PrescriptionPart(DocumentPart):
    """Of one that came from outside, ``extra`` may say so (``from_outside``), and whether its paper has the
    prescriber's address (``address_given``); ``paper``
    has what was read off its scans, by eye (:mod:`orders.rules.families.paper`).
    """

    tested_on: Day | None = None
    expires_on: Day | None = None
    prescriber: str | None = None
    source: str | None = None
    signed: bool | None = None
    vertex_mm: float | None = None
    use: Use | None = None
    right: PrescribedEye = Field(default_factory=PrescribedEye)
    left: PrescribedEye = Field(default_factory=PrescribedEye)

    _eyes = field_validator("right", "left", mode="before")(object_or_nothing)

    def eye(self, eye: Eye) -> PrescribedEye:
        return self.right if eye == "right" else self.left


class PresentSpectacles(PrescriptionPart):
    """The pair worn now, as the lensmeter reads it.

    Its kind, heights, curves and age, what the wearer thinks of it and what the new pair is for go under ``extra``.
    """

    read_on: Day | None = None


class PatientFacts(DocumentPart):
    """Only what the lab and the check need: no name, no address.

    ``extra.hazards`` may list the words of an occupation or recreation that name a danger to the eye.
    """

    reference: str | None = None
    born_on: Day | None = None
    driver: bool | None = None
    protected: bool | None = None
    present_spectacles: PresentSpectacles | None = None


class ShapePart(DocumentPart):
    """Radii from the boxed centre, equally spaced, counter-clockwise seen from the front.

    The first radius points to the viewer's right. A radius that was not measured is null.
    """

    side: Eye
    radii_mm: tuple[float | None, ...] = ()

    _radii = field_validator("radii_mm", mode="before")(list_or_nothing)

    @property
    def radii(self) -> tuple[float, ...]:
        """The radii in mm, NaN for one that was not measured."""
        return tuple(math.nan if radius is None else radius for radius in self.radii_mm)


class FramePart(DocumentPart):
    model: str | None = None
    mount: Mount | None = None
    source: FrameSource | None = None
    a_mm: float | None = None
    b_mm: float | None = None
    dbl_mm: float | None = None
    ed_mm: float | None = None
    front_curve_d: float | None = None
    shape: ShapePart | None = None


class FittedEye(DocumentPart):
    pd_mm: float | None = None
    near_pd_mm: float | None = None
    height_mm: float | None = None
    vertex_mm: float | None = None


class FittingPart(DocumentPart):
    right: FittedEye = Field(default_factory=FittedEye)
    left: FittedEye = Field(default_factory=FittedEye)
    binocular_pd_mm: float | None = None
    pantoscopic_deg: float | None = None
    face_form_deg: float | None = None
    near_distance_mm: float | None = None
    readings: WholeNumber | None = None
    measured_in_this_frame: bool | None = None
    pre_adjusted: bool | None = None

    _eyes = field_validator("right", "left", mode="before")(object_or_nothing)

    def eye(self, eye: Eye) -> FittedEye:
        return self.right if eye == "right" else self.left


class OrderedPower(DocumentPart):
    """The power to be made at the reference point of the lens, for a multifocal that of its distance part.

    prism: absent or null means as prescribed, an empty list none.
    """

    sphere: float | None = None
    cylinder: float | None = None
    axis: float | None = None
    prism: tuple[PrismPart, ...] | None = None

    _prism = field_validator("prism", mode="before")(list_given)


class Edge(DocumentPart):
    """How the edge of a lens is finished; absent: as the lab usually does."""

    polished: bool | None = None
    bevel: str | None = None


class OrderedLens(DocumentPart):
    """One lens. power: what is to be made; if it is absent, it follows from the prescription and the use.

    In a sent order ``extra`` may give the PD that the lens is centred by (``pd_used_mm``, ``pd_used_by``), and whether
    its design is compensated for the position of wear by the lab (``compensated``).
    """

    design: str | None = None
    material: str | None = None
    corridor_mm: float | None = None
    blank_mm: float | None = None
    treatments: tuple[str, ...] = ()
    base_curve_d: float | None = None
    centre_thickness_mm: float | None = None
    colour: str | None = None
    instruction: Instruction | None = None
    power: OrderedPower | None = None
    edge: Edge | None = None

    _treatments = field_validator("treatments", mode="before")(list_or_nothing)


class KeptLens(DocumentPart):
    """The lens that is kept in the frame when only the other one is ordered."""

    material: str | None = None
    design: str | None = None
    base_curve_d: float | None = None
    treatments: tuple[str, ...] | None = None
    centre_thickness_mm: float | None = None

    _treatments = field_validator("treatments", mode="before")(list_given)


class LensesPart(DocumentPart):
    right: OrderedLens | None = None
    left: OrderedLens | None = None

    def eye(self, eye: Eye) -> OrderedLens | None:
        return self.right if eye == "right" else self.left


class OrderedBy(DocumentPart):
    """Who ordered: for a protected patient the registered person who takes part, else whoever sent it."""

    name: str | None = None
    registration: str | None = None

    @property
    def is_registered(self) -> bool:
        return bool((self.name or "").strip() and (self.registration or "").strip())


class CatalogueStamp(DocumentPart):
    """Which of the lab's catalogues the order was drawn up from and judged by."""

    issued_on: Day | None = None
    sha256: str | None = None


class Change(DocumentPart):
    """One value that differs from the revision before; ``field`` is its path, as in ``fitting.right.pd_mm``.

    Of a code from a catalogue ``extra`` may give both names (``from_name``, ``to_name``).
    """

    field: str
    before: Any = Field(default=None, alias="from")
    after: Any = Field(default=None, alias="to")


class Replaces(DocumentPart):
    """The sent revision that this one takes the place of, and what is different."""

    revision: WholeNumber | None = None
    sha256: str | None = None
    changes: tuple[Change, ...] = ()

    _changes = field_validator("changes", mode="before")(list_or_nothing)


class Lifted(DocumentPart):
    """A stop lifted, or an ask confirmed, by a named person."""

    rule: str
    eye: Literal["right", "left", "both"] | None = None
    reason: str | None = None
    by: str | None = None


class LensOrder(DocumentPart):
    """The whole order.

    use: what this pair is for; absent, what the prescription is for. power_basis: who allows for the distance and the
    position in which the lenses are worn: absent or ``as_prescribed``, the lab may; otherwise the practice has.
    """

    format: Literal["lens-order/1"]
    number: str | None = None
    revision: WholeNumber | None = None
    purpose: Purpose | None = None
    remake_of: str | None = None
    ordered_on: Day | None = None
    needed_on: Day | None = None
    use: Use | None = None
    power_basis: PowerBasis | None = None
    practice: Practice = Field(default_factory=Practice)
    lab: LabName = Field(default_factory=LabName)
    patient: PatientFacts = Field(default_factory=PatientFacts)
    prescription: PrescriptionPart = Field(default_factory=PrescriptionPart)
    previous_prescription: PrescriptionPart | None = None
    frame: FramePart = Field(default_factory=FramePart)
    fitting: FittingPart = Field(default_factory=FittingPart)
    lenses: LensesPart = Field(default_factory=LensesPart)
    kept_lens: KeptLens | None = None
    other_pair: bool | None = None
    lifted: tuple[Lifted, ...] | None = None
    ordered_by: OrderedBy | None = None
    replaces: Replaces | None = None
    catalogue: CatalogueStamp | None = None
    supply: Supply | None = None
    remarks: str | None = None

    _lifted = field_validator("lifted", mode="before")(list_given)
    _parts = field_validator("practice", "lab", "patient", "prescription", "frame", "fitting", "lenses", mode="before")(
        object_or_nothing
    )

    @property
    def wearer_age(self) -> int | None:
        """Age in whole years on the day of the order, else of the test, else on the day the order is needed."""
        return self.age_of_wearer(None)

    def age_of_wearer(self, today: date | None) -> int | None:
        """The same; an order without a date is of ``today``, if the day is known."""
        days = (self.believed_order_day, today if self.ordered_on is None else None, self.prescription.tested_on)
        ages = (years_between(self.patient.born_on, day) for day in (*days, self.needed_on))
        return next((age for age in ages if age is not None), None)

    @property
    def pair_use(self) -> Use | None:
        """What the pair is for: as the order says, else as the prescription says."""
        return self.use or self.prescription.use

    @property
    def believed_order_day(self) -> date | None:
        """The day of the order, or None if its year is mistyped: later than the year in which the pair is wanted."""
        ordered, needed = self.ordered_on, self.needed_on
        return None if ordered is not None and needed is not None and ordered.year > needed.year else ordered

    @property
    def ordered_eyes(self) -> tuple[Eye, ...]:
        return tuple(eye for eye in EYES if self.lenses.eye(eye) is not None)


def parse_order(text: str | bytes) -> LensOrder:
    """Read a ``lens-order/1``; raises :class:`dispensing.documents.InvalidDocument`."""
    return parse(LensOrder, text, format_name=FORMAT)
