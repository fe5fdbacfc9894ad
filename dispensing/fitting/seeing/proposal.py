"""``photo-proposal/1``: every mark of a front photo that is surely found; what is not sure is left out, not guessed.

Pure over the pixels of one photo. It reads no file and knows no record; whoever asks shows the marks to a person, who
takes or moves each.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import cv2
import numpy as np

from dispensing.documents import DocumentPart
from dispensing.fitting.documents import EYES, Eye, Pixel
from dispensing.fitting.inputs import BOX_MARKS
from dispensing.fitting.pupils import Window, pupils_in
from dispensing.fitting.seeing.card import SeenCard, find_card
from dispensing.fitting.seeing.face import RgbImage, SeenFace, find_face
from dispensing.fitting.seeing.frame import SeenSide, find_sides
from dispensing.fitting.seeing.pupil import find_pupils
from dispensing.fitting.seeing.trust import pupil_sure
from dispensing.fitting.seeing.whereabouts import FrameSizes
from dispensing.trade import figure

LEAST_SURE = 0.8
"""Below this a mark is not proposed. See `tests.fitting.painted_proposals` for how often a mark as sure is right."""

HALF_SURE, MOST_UNSURE_SIDES = 0.5, 6
"""With more sides unsure than this, what was fitted may be no frame at all, and no side is proposed."""

TRIED_POWER = 1 / 3
"""Of pupils looked for in lens boxes, where no face stands out."""

USUAL_PD_MM = figure("visible-iris", "between_pupils_mm")


@dataclass(frozen=True)
class SeenMark:
    """A place in px of the photo, as marks are counted, and the share of marks as sure that are right."""

    at: Pixel
    confidence: float


@dataclass(frozen=True)
class Proposal:
    """``marks``: by eye and by the mark's name; what is not sure is not there. ``card``: for the scale."""

    marks: Mapping[Eye, Mapping[str, SeenMark]] = field(default_factory=lambda: {eye: {} for eye in EYES})
    card: SeenCard | None = None


class ProposedEye(DocumentPart):
    """The five marks of one eye as in ``fitting-points/1``; null where one is not sure."""

    pupil: Pixel | None = None
    nasal: Pixel | None = None
    temporal: Pixel | None = None
    top: Pixel | None = None
    bottom: Pixel | None = None


class ProposalDocument(DocumentPart):
    """``photo-proposal/1``. ``confidence``: for each mark that is there, 0 to 1.

    ``extra.card``, where a card shows: ``ends``, 85.60 mm apart, its four ``corners`` clockwise, and ``confidence``.
    """

    format: Literal["photo-proposal/1"] = "photo-proposal/1"
    file: str | None = None
    width_px: int
    height_px: int
    right: ProposedEye
    left: ProposedEye
    confidence: dict[str, dict[str, float]]


def propose(
    photo: RgbImage,
    frame: FrameSizes | None = None,
    boxes: Mapping[Eye, Window] | None = None,
    with_card: bool = True,
) -> Proposal:
    """What is surely found on a photo (rows × columns × RGB). Raises NetworksMissing.

    ``frame``: its known sizes, without which no side of a lens is looked for. ``boxes``: lenses that are marked
    already; a pupil is looked for in them where no face stands out. ``with_card``: whether a card is looked for.
    """
    grey = np.asarray(cv2.cvtColor(photo, cv2.COLOR_RGB2GRAY), np.uint8)
    face = find_face(photo)
    marks: dict[Eye, dict[str, SeenMark]] = {eye: {} for eye in EYES}
    if face is not None:
        for eye, name, mark in _of_the_face(photo, grey, face, frame):
            if mark.confidence >= LEAST_SURE:
                marks[eye][name] = mark
    for eye, pupil in pupils_in(grey, boxes or {}).items():
        if face is None and pupil is not None and pupil.confidence**TRIED_POWER >= LEAST_SURE:
            marks[eye]["pupil"] = SeenMark((pupil.x_px, pupil.y_px), pupil.confidence**TRIED_POWER)
    return Proposal(marks, _card(photo, face) if with_card else None)


def _card(photo: RgbImage, face: SeenFace | None) -> SeenCard | None:
    if face is None:
        return None
    irises = middles_of(face)
    card = find_card(photo, irises, px_per_mm_of(irises))
    return card if card is not None and card.sure >= LEAST_SURE else None


def middles_of(face: SeenFace) -> dict[Eye, Pixel]:
    """The middle of each iris, px."""
    return {eye: (seen.x_px, seen.y_px) for eye, seen in face.irises.items()}


def _of_the_face(
    photo: RgbImage, grey: Any, face: SeenFace, frame: FrameSizes | None
) -> Iterator[tuple[Eye, str, SeenMark]]:
    for eye, pupil in find_pupils(grey, face).items():
        if pupil is not None:
            yield eye, "pupil", SeenMark((pupil.x_px, pupil.y_px), pupil_sure(pupil.sure, pupil.own))
    if frame is None:
        return
    irises = middles_of(face)
    boxes = find_sides(photo, irises, px_per_mm_of(irises), frame)
    if sum(side.sure < HALF_SURE for box in boxes.values() for side in box.values()) <= MOST_UNSURE_SIDES:
        yield from _sides(boxes)


def px_per_mm_of(irises: Mapping[Eye, Pixel]) -> float:
    """The scale of a face whose eyes stand as far apart as most do."""
    return float(np.hypot(*(np.array(irises["left"]) - np.array(irises["right"])))) / USUAL_PD_MM


def _sides(boxes: Mapping[Eye, Mapping[str, SeenSide]]) -> Iterator[tuple[Eye, str, SeenMark]]:
    for eye, box in boxes.items():
        for name, side in box.items():
            yield eye, name, SeenMark((side.x_px, side.y_px), side.sure)


def document_of(proposal: Proposal, width_px: int, height_px: int, file: str | None = None) -> ProposalDocument:
    """The proposal as a document, places to a hundredth of a pixel."""
    eyes = {eye: ProposedEye(**_places(proposal.marks[eye])) for eye in EYES}
    confidence: dict[str, dict[str, float]] = {
        eye: {name: round(proposal.marks[eye][name].confidence, 2) for name in BOX_MARKS if name in proposal.marks[eye]}
        for eye in EYES
    }
    return ProposalDocument(
        file=file,
        width_px=width_px,
        height_px=height_px,
        right=eyes["right"],
        left=eyes["left"],
        confidence=confidence,
        extra=_extra(proposal.card),
    )


def _extra(card: SeenCard | None) -> dict[str, Any] | None:
    if card is None:
        return None
    ends, corners = ([[round(x, 2), round(y, 2)] for x, y in places] for places in (card.ends, card.corners))
    return {"card": {"ends": ends, "corners": corners, "confidence": round(card.sure, 2)}}


def _places(marks: Mapping[str, SeenMark]) -> dict[str, Any]:
    return {name: (round(mark.at[0], 2), round(mark.at[1], 2)) for name, mark in marks.items()}
