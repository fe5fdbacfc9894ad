"""The frames in stock that a pair could be made in: for a draft, or for a patient before any frame is chosen.

It reads and never writes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from dispensing.models import Frame, Patient
from orders.documents.lens_catalogue import Design, DesignKind, LensCatalogue, Material
from orders.documents.lens_order import EYES, Eye, FittedEye, FittingPart, LensOrder
from orders.facts import catalogue_document, frame_part
from orders.models import Catalogue, Order
from orders.options.frames.comparison import FrameRow, compare_frames
from orders.options.lenses.in_common import Apart, apart
from orders.options.lenses.offers import materials_of
from orders.queries import catalogues_in_use, frames_to_choose_from, lenses_ordered_lately
from orders.services.judging import Asked, asked_of, judge

PDs = dict[Eye, float]


@dataclass(frozen=True, eq=False)
class LensChoice:
    """A lens by its design and material, for both eyes."""

    row: Catalogue
    catalogue: LensCatalogue
    design: Design
    material: Material

    @property
    def key(self) -> str:
        """By which a form names it."""
        return f"{self.row.public_id}/{self.design.id}/{self.material.id}"

    @property
    def name(self) -> str:
        return f"{self.design.name} · {self.material.name}"


@dataclass(frozen=True, eq=False)
class FramesForLens:
    """Every frame with one lens. name: of the lens; asked: what the check was given besides the frame."""

    name: str
    asked: Asked
    apart: Apart[FrameRow]

    @property
    def rows(self) -> tuple[FrameRow, ...]:
        """In the sequence of the frames."""
        return self.apart.rows


@dataclass(frozen=True, eq=False)
class FramesCompared:
    frames: Sequence[Frame]
    lenses: Sequence[FramesForLens]


def lenses_on_offer() -> list[LensChoice]:
    """Every design in each of its materials, of every lab that takes orders."""
    return [
        LensChoice(row, catalogue, design, material)
        for row, catalogue in ((row, catalogue_document(row)) for row in catalogues_in_use())
        for design in catalogue.designs
        for material in materials_of(catalogue, design)
    ]


def usual_choice(patient: Patient, on_offer: Sequence[LensChoice]) -> LensChoice | None:
    """Of the kind that the latest prescription asks for, the lens that the practice orders most lately, or else the
    first on offer; without any of that kind, the first of all.
    """
    latest = patient.prescriptions.prefetch_related("eyes").first()
    adds = [eye.add for eye in latest.eyes.all()] if latest is not None and latest.use == "distance_and_near" else []
    kind: DesignKind = "progressive" if any(adds) else "single_vision"
    ordered = Counter(lenses_ordered_lately())
    of_kind = [one for one in on_offer if one.design.kind == kind] or list(on_offer)
    return max(of_kind, key=lambda one: ordered[one.row.lab_id, one.design.id, one.material.id], default=None)


def frames_for_draft(order: Order) -> FramesCompared | None:
    """For the lenses that the draft has; None if it has none, or no catalogue."""
    judged = judge(order)
    asked = replace(judged.asked, document=judged.document)
    if asked.catalogue is None or not asked.document.ordered_eyes:
        return None
    frames = frames_to_choose_from()
    return FramesCompared(frames, [_compared("the lens in the order", asked, frames)])


def frames_for_patient(patient: Patient, lenses: Sequence[LensChoice], stated: PDs) -> FramesCompared:
    """For the latest prescription and each of these lenses, with the latest fitting. stated: PDs in mm, which count
    before those of the fitting.
    """
    frames = frames_to_choose_from()
    return FramesCompared(frames, [_compared(lens.name, _asked(patient, lens, stated), frames) for lens in lenses])


def _compared(name: str, asked: Asked, frames: Sequence[Frame]) -> FramesForLens:
    assert asked.catalogue is not None
    parts = [frame_part(frame) for frame in frames]
    rows = compare_frames(asked.document, asked.catalogue, parts, others=asked.others, practice_limits=asked.limits)
    return FramesForLens(name, asked, apart(rows))


def _asked(patient: Patient, lens: LensChoice, stated: PDs) -> Asked:
    """What the check would be given if this lens were ordered for the patient today."""
    fitting = patient.fittings.select_related("frame").first()
    chosen = {"design": lens.design.id, "material": lens.material.id, "treatments": []}
    order = Order(
        patient=patient,
        prescription=patient.prescriptions.first(),
        fitting=fitting,
        frame=fitting.frame if fitting else None,
        lab=lens.row.lab,
        catalogue=lens.row,
        lenses=dict.fromkeys(EYES, chosen),
    )
    asked = asked_of(order)
    return replace(asked, document=_with_pds(asked.document, stated)) if stated else asked


def _with_pds(document: LensOrder, stated: PDs) -> LensOrder:
    def fitted(eye: Eye) -> FittedEye:
        now = document.fitting.eye(eye)
        return now.model_copy(update={"pd_mm": stated[eye], "near_pd_mm": None}) if eye in stated else now

    fitting: FittingPart = document.fitting.model_copy(
        update={"right": fitted("right"), "left": fitted("left"), "binocular_pd_mm": None}
    )
    return document.model_copy(update={"fitting": fitting})
