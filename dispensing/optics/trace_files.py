"""Frame traces: from the ASCII radii a tracer writes to lens shapes, checked by their own geometry.

`TRCFMT=1;n;E|U;R|L;F|P|D` announces n radii of one side; `R=` lines give them in 1/100 mm, counter-clockwise from the
viewer's right, and `A=` lines give their angles in 1/100 degree where they are not equally spaced. Box width, height
and circumference, when the file states them, are compared with what the radii give. Nothing is guessed: figures that do
not add up are an error, figures that differ a little a warning, and a side that was not traced is the mirror image of
the other and reported as such. Binary formats are refused. This module must never know about frames in a record or
orders.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from dispensing.optics import outline
from dispensing.optics.arrays import FloatArray
from dispensing.optics.boxing import FEWEST_RADII, MOST_RADII, LensShape
from dispensing.optics.conventions import EYES, Eye, other_eye
from dispensing.optics.errors import OpticsError, require_range
from dispensing.optics.trace_records import Record, read_records

ASCII_RADII = "1"
SHORTEST_MM, LONGEST_MM = 10.0, 45.0
LARGEST_STEP_MM = 2.0
BOX_AGREES_MM, LENGTH_AGREES_MM, SIDES_AGREE_MM = 0.10, 0.5, 0.5
FULL_TURN = 36_000
SIDES: dict[str, Eye] = {"R": "right", "L": "left"}
TRACED_FROM = {"F": "frame", "P": "pattern", "D": "demo lens"}
STATED = ("HBOX", "VBOX", "CIRC", "DBL", "FCRV")


@dataclass(frozen=True)
class FrameTrace:
    """Both shapes of a frame, from their true boxed centres, and what else the file states.

    `derived`: the side that was not traced and is the other's mirror image, or None; `traced_from`: frame, pattern or
    demo lens; `dbl_mm`; `front_curve_d`: frame curve of each side, D, None where not stated; `warnings`: in plain
    words; `other`: records that are not interpreted, by label.
    """

    right: LensShape
    left: LensShape
    derived: Eye | None
    traced_from: str
    dbl_mm: float | None
    front_curve_d: Mapping[Eye, float | None]
    warnings: tuple[str, ...]
    other: Mapping[str, str]


@dataclass
class _Side:
    """A trace while it is being read."""

    eye: Eye
    count: int
    unequal: bool
    traced_from: str
    radii: list[int] = field(default_factory=list)
    angles: list[int] = field(default_factory=list)


def import_trace(data: bytes) -> FrameTrace:
    """Read a trace file. Raises OpticsError saying which record is wrong, what was found and what is allowed."""
    sides: dict[Eye, _Side] = {}
    stated: dict[str, Record] = {}
    other: dict[str, str] = {}
    current: _Side | None = None
    for record in read_records(data):
        if record.label == "TRCFMT":
            current = _announced(record)
            if current.eye in sides:
                raise OpticsError(f"number of traces of the {current.eye} side", 2, "", "one")
            sides[current.eye] = current
        elif record.label in ("R", "A"):
            if current is None:
                raise OpticsError(f"record {record.label} in line {record.line}", "early", "", "after a TRCFMT record")
            (current.radii if record.label == "R" else current.angles).extend(record.integers())
        elif record.label in STATED:
            stated[record.label] = record
        else:
            other[record.label] = "\n".join(filter(None, (other.get(record.label), record.text)))
    if not sides:
        raise OpticsError("number of traces in the file", 0, "", "one a side: TRCFMT and R records")
    return _assembled(sides, stated, other)


def _announced(record: Record) -> _Side:
    """The trace that a TRCFMT record announces."""
    fields = record.fields()
    name = f"record TRCFMT in line {record.line}"
    if len(fields) != 5:
        raise OpticsError(name, record.text, "", "five fields: format; number; E or U; R or L; F, P or D")
    form, number, spacing, side, source = fields
    if form != ASCII_RADII:
        raise OpticsError(
            f"trace format in line {record.line}", form, "", "1 (ASCII radii)", "Save the trace again so."
        )
    if spacing not in ("E", "U") or side not in SIDES or source not in TRACED_FROM or not number.isdigit():
        raise OpticsError(name, record.text, "", "1; number of radii; E or U; R or L; F, P or D")
    count = int(require_range(f"number of radii in line {record.line}", int(number), "", FEWEST_RADII, MOST_RADII))
    return _Side(SIDES[side], count, spacing == "U", TRACED_FROM[source])


def _shape(side: _Side) -> LensShape:
    """The shape of one side about its true boxed centre, its records checked."""
    if len(side.radii) != side.count:
        raise OpticsError(
            f"number of radii of the {side.eye} trace", len(side.radii), "", f"{side.count}, as announced"
        )
    if side.unequal != bool(side.angles):
        allowed = "one for every radius" if side.unequal else "none, since the trace is equally spaced"
        raise OpticsError(f"number of angles of the {side.eye} trace", len(side.angles), "", allowed)
    radii = np.array(side.radii, dtype=np.float64) / 100.0
    for place, radius in enumerate(side.radii, start=1):
        require_range(f"radius {place} of the {side.eye} trace", radius / 100.0, "mm", SHORTEST_MM, LONGEST_MM)
    step = float(np.abs(np.diff(radii, append=radii[:1])).max())
    if step >= LARGEST_STEP_MM:
        allowed = f"less than {LARGEST_STEP_MM:g} mm"
        raise OpticsError(f"largest step of the {side.eye} trace", round(step, 2), "mm", allowed, "Trace again.")
    points = _corners(side, radii)
    shape = LensShape(outline.radii_in_box(points, side.count, outline.box_of(points)), side.eye)
    return shape.recentred()


def _corners(side: _Side, radii: FloatArray) -> FloatArray:
    if not side.unequal:
        return outline.directions(side.count) * radii[:, None]
    angles = np.array(side.angles)
    if len(angles) != side.count or angles[0] < 0 or angles[-1] >= FULL_TURN or np.any(np.diff(angles) <= 0):
        allowed = f"{side.count} angles that grow from 0 to 35999 hundredths of a degree"
        raise OpticsError(f"A records of the {side.eye} trace", "out of order", "", allowed)
    turn = angles * (2.0 * np.pi / FULL_TURN)
    corners: FloatArray = np.stack([np.cos(turn), np.sin(turn)], axis=1) * radii[:, None]
    return corners


def _assembled(sides: Mapping[Eye, _Side], stated: Mapping[str, Record], other: dict[str, str]) -> FrameTrace:
    shapes = {eye: _shape(side) for eye, side in sides.items()}
    warnings = [text for eye, shape in shapes.items() for text in _disagreements(shape, stated)]
    derived = next((eye for eye in EYES if eye not in shapes), None)
    if derived is not None:
        shapes[derived] = shapes[other_eye(derived)].mirrored()
    else:
        warnings += _unlike_sides(shapes["right"], shapes["left"])
    dbl = stated["DBL"].numbers()[0] if "DBL" in stated else None
    return FrameTrace(
        right=shapes["right"],
        left=shapes["left"],
        derived=derived,
        traced_from=next(iter(sides.values())).traced_from,
        dbl_mm=dbl,
        front_curve_d={eye: _stated_for(stated, "FCRV", eye) for eye in EYES},
        warnings=tuple(warnings),
        other=other,
    )


def _stated_for(stated: Mapping[str, Record], label: str, eye: Eye) -> float | None:
    """The value a right;left record states for an eye; a single value says nothing certain about either."""
    numbers = stated[label].numbers() if label in stated else []
    return numbers[EYES.index(eye)] if len(numbers) == 2 else None


def _disagreements(shape: LensShape, stated: Mapping[str, Record]) -> list[str]:
    """What the file states about a side that its radii do not bear out."""
    compared = (
        ("HBOX", "box width", shape.a_mm, BOX_AGREES_MM),
        ("VBOX", "box height", shape.b_mm, BOX_AGREES_MM),
        ("CIRC", "circumference", shape.circumference_mm, LENGTH_AGREES_MM),
    )
    found = []
    for label, words, traced, allowed in compared:
        said = _stated_for(stated, label, shape.side)
        if said is not None and abs(said - traced) > allowed + 1e-9:
            found.append(
                f"The file states a {words} of {said:.2f} mm ({shape.side} side); the trace gives {traced:.2f} mm. "
                "Measure the frame before using either."
            )
    return found


def _unlike_sides(right: LensShape, left: LensShape) -> list[str]:
    """The two sides of a frame mirror each other unless it is bent or was traced badly."""
    count = max(right.count, left.count)
    count += count % 2
    mirrored, other = right.resampled(count).mirrored(), left.resampled(count)
    apart = float(np.abs(mirrored.radii - other.radii).max())
    if apart <= SIDES_AGREE_MM:
        return []
    return [f"The right and left traces differ by up to {apart:.2f} mm. Trace again, or have the frame straightened."]
