"""An order as the trade's label-and-value records in ASCII, with the frame trace: a copy for lab machines.

This must never be the only copy: products are named by texts that lab and practice must agree on, and labs differ
in which label holds the height of a fitting cross (``cross_height``). Each line is one record, ``LABEL=right;left``,
ending in CR LF, with ``?`` for an eye's unknown value; an empty record is left out. Remarks, and what has no label of
its own, go on over as many ``REM`` records as they need, in order; a code or name longer than a record holds is refused
(`NotInRecords`), for cut short it would be another. Written from public sample
files and parsers of such records, without the text of the standard itself (ISO 16284, withdrawn), so no conformance
is claimed. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from textwrap import wrap
from typing import Literal

from anyascii import anyascii

from dispensing.optics.boxing import LensShape
from dispensing.optics.errors import OpticsError
from dispensing.optics.notation import LARGEST_WRITTEN_D, format_power
from dispensing.optics.prism import Prism, resultant
from orders.documents import words
from orders.documents.lens_order import EYES, Eye, LensOrder, OrderedLens, OrderedPower, PrescribedEye
from orders.documents.names import INSTRUCTIONS
from orders.documents.powers_side_by_side import what_powers_stand_for
from orders.documents.replaced import ARROW, replaced


class NotInRecords(ValueError):
    """A text that no record can hold, which must not be cut without a word; the message names it."""


CrossHeight = Literal["SEGHT", "OCHT"]
UNKNOWN = "?"
RADII_A_LINE = 10
LONGEST_TEXT = 60
EYES_TO_MAKE = {("right", "left"): "B", ("right",): "R", ("left",): "L", (): "N"}
KINDS = {"single_vision": "SV", "bifocal": "BI", "trifocal": "TR", "progressive": "PR"}
EDGES = {"full_rim": "1", "drilled": "2", "grooved": "3"}


def records(order: LensOrder, *, cross_height: CrossHeight = "SEGHT") -> bytes:
    """The records as bytes. ``cross_height``: the label under which this lab reads the height of the fitting cross.

    Raises `NotInRecords`.
    """
    lines = [*_job(order), *_powers(order), *_centring(order, cross_height), *_lenses(order), *_frame(order)]
    return "".join(f"{line}\r\n" for line in [*lines, *_trace(order)]).encode("ascii")


def ascii_text(text: str | None) -> str:
    """Readable ASCII without the characters that have a meaning in a record, whatever its length."""
    plain = anyascii(text or "").replace(";", ",").replace("=", "-")
    return " ".join("".join(sign if sign.isprintable() else " " for sign in plain).split())


def name_text(text: str | None, what: str) -> str:
    """The same for a name or code, which must fit a record. Raises `NotInRecords`."""
    plain = ascii_text(text)
    if len(plain) > LONGEST_TEXT:
        raise NotInRecords(
            f"{what} has {len(plain)} letters, and a record holds {LONGEST_TEXT}: {plain[:LONGEST_TEXT]}… "
            "Shorten it, or send PDF or JSON."
        )
    return plain


def _single(label: str, text: str | None) -> Iterator[str]:
    if text:
        yield f"{label}={text}"


def _pair(label: str, value_of: Callable[[Eye], str | None]) -> Iterator[str]:
    """Always write both eyes: a single value would be taken to apply to both."""
    values = [value_of(eye) for eye in EYES]
    if any(value is not None for value in values):
        yield f"{label}={';'.join(UNKNOWN if value is None else value for value in values)}"


def _power(value: float | None) -> str | None:
    """A power as paper and pages write it, but without a plus sign; one that no lens has is written unchanged."""
    if value is None or abs(value) > LARGEST_WRITTEN_D:
        return _fixed(value)
    return format_power(value).lstrip("+")


def _fixed(value: float | None, places: int = 2) -> str | None:
    return None if value is None else f"{round(value, places) + 0.0:.{places}f}"


def _job(order: LensOrder) -> Iterator[str]:
    yield from _single("JOB", name_text(order.number, "The number of the order"))
    yield f"DO={EYES_TO_MAKE[order.ordered_eyes]}"
    yield from _single("ACCN", name_text(order.practice.account, "The account"))
    yield from _single("CLIENT", name_text(order.patient.reference, "The patient's reference"))
    for told in (*_without_label(order), *(order.remarks or "").splitlines()):
        yield from (f"REM={line}" for line in wrap(ascii_text(told), LONGEST_TEXT))


def _without_label(order: LensOrder) -> Iterator[str]:
    """What a person at the machine must know and no label says, most important first."""
    old = replaced(order)
    if old is not None:
        yield from (f"{old.warning}.", *(f"{line.replace(ARROW, 'to')}." for line in old.changes))
    elif (order.revision or 1) > 1:
        yield f"Revision {order.revision}."
    if order.purpose == "remake":
        yield f"Remake of {order.remake_of or 'an order not named'}."
    if words.is_urgent(order):
        yield "URGENT."
    if order.needed_on is not None:
        yield f"Needed by {words.day(order.needed_on)}."
    if order.ordered_eyes:
        yield what_powers_stand_for(order)
    for eye in order.ordered_eyes:
        lens = order.lenses.eye(eye)
        if lens is not None and lens.instruction is not None:
            yield f"{eye.capitalize()} eye: {INSTRUCTIONS[lens.instruction]}."
        if lens is not None and lens.edge is not None and lens.edge.bevel:
            yield f"{eye.capitalize()} edge: {lens.edge.bevel}."


def _powers(order: LensOrder) -> Iterator[str]:
    """The powers to be made: those that the order states, else those prescribed."""

    def made(side: Eye) -> OrderedPower | PrescribedEye:
        return _made(order, side)

    yield from _pair("SPH", lambda side: _power(made(side).sphere))
    yield from _pair("CYL", lambda side: _power(_cylinder(made(side))))
    if any(made(side).cylinder for side in EYES):
        yield from _pair("AX", lambda side: _fixed(_axis(made(side)), 0))
    yield from _pair("ADD", lambda side: _add(order, side))
    yield from _pair("PRVM", lambda side: _prism(order, side)[0])
    yield from _pair("PRVA", lambda side: _prism(order, side)[1])


def _made(order: LensOrder, eye: Eye) -> OrderedPower | PrescribedEye:
    lens = order.lenses.eye(eye)
    stated = lens.power if lens else None
    return order.prescription.eye(eye) if stated is None or stated.sphere is None else stated


def _add(order: LensOrder, eye: Eye) -> str | None:
    """The add, unless the stated power of a lens for one distance has it already."""
    lens = order.lenses.eye(eye)
    has_it = lens is not None and lens.power is not None and _kind(lens) == "single_vision"
    return None if has_it else _power(order.prescription.eye(eye).add)


def _cylinder(power: OrderedPower | PrescribedEye) -> float | None:
    """The cylinder; a power without one is a sphere, not an eye with something unknown."""
    return power.cylinder or (None if power.sphere is None else 0.0)


def _axis(power: OrderedPower | PrescribedEye) -> float | None:
    return power.axis if power.cylinder else _cylinder(power)


def _prism(order: LensOrder, eye: Eye) -> tuple[str | None, str | None]:
    """Prism size and base angle, 0 to 360 as seen from the front: base in is 0 for the right eye, 180 for the left.

    A stated power without prism of its own keeps the prescribed one.
    """
    stated = _made(order, eye).prism
    parts = order.prescription.eye(eye).prism if stated is None else stated
    given = [part for part in parts if part.amount and part.base]
    try:
        prism = resultant(Prism.from_base(part.amount or 0.0, part.base) for part in given)
    except OpticsError:
        return None, None  # no prism has this amount
    if prism.amount_pd < 0.005:
        return None, None
    return _fixed(prism.amount_pd), _fixed(prism.base_deg(eye), 0)


def _kind(lens: OrderedLens | None) -> str:
    return words.text_of(lens, "design_kind", "")


def _either(value: float | None) -> Callable[[Eye], str | None]:
    """The same figure for both eyes."""
    return lambda side: _fixed(value)


def _pd(order: LensOrder, eye: Eye) -> float | None:
    """The PD by which the lens is centred: in a lens for close work not the far one."""
    used = words.extra_of(order.lenses.eye(eye), "pd_used_mm")
    # Canonical JSON writes 29.0 as 29.
    return float(used) if isinstance(used, int | float) else order.fitting.eye(eye).pd_mm


def _centring(order: LensOrder, cross_height: CrossHeight) -> Iterator[str]:
    fitted = order.fitting.eye
    yield from _pair("IPD", lambda side: _fixed(_pd(order, side)))
    yield from _pair("NPD", lambda side: _fixed(fitted(side).near_pd_mm))

    def height(label: str) -> Callable[[Eye], str | None]:
        def value(side: Eye) -> str | None:
            kind = _kind(order.lenses.eye(side))
            own = cross_height if kind in ("progressive", "office") else "OCHT" if kind == "single_vision" else "SEGHT"
            return _fixed(fitted(side).height_mm) if own == label and order.lenses.eye(side) else None

        return value

    for label in ("OCHT", "SEGHT"):
        yield from _pair(label, height(label))
    yield from _pair("BVD", lambda side: _fixed(fitted(side).vertex_mm))
    for label, angle in (("PANTO", order.fitting.pantoscopic_deg), ("ZTILT", order.fitting.face_form_deg)):
        yield from _pair(label, _either(angle))


def _lenses(order: LensOrder) -> Iterator[str]:
    def of(value: Callable[[OrderedLens], str | None]) -> Callable[[Eye], str | None]:
        def for_eye(side: Eye) -> str | None:
            lens = order.lenses.eye(side)
            return None if lens is None else value(lens)

        return for_eye

    def index(lens: OrderedLens) -> str | None:
        stated = words.extra_of(lens, "index")
        return _fixed(float(stated), 3) if isinstance(stated, int | float) else None

    yield from _pair("LNAM", of(lambda lens: name_text(lens.design, "The design") or None))
    yield from _pair("LTYP", of(lambda lens: KINDS.get(_kind(lens))))
    yield from _pair("LIND", of(index))
    yield from _pair("MBASE", of(lambda lens: _fixed(lens.base_curve_d)))
    yield from _pair("DIA", of(lambda lens: _fixed(lens.blank_mm)))
    yield from _pair("CTHICK", of(lambda lens: _fixed(lens.centre_thickness_mm)))
    yield from _pair("ACOAT", of(lambda lens: name_text(",".join(lens.treatments), "The list of treatments") or None))
    yield from _pair("COLR", of(lambda lens: name_text(lens.colour, "The tint") or None))
    yield from _pair("POLISH", of(_polished))


def _polished(lens: OrderedLens) -> str | None:
    stated = lens.edge.polished if lens.edge else None
    return None if stated is None else str(int(stated))


def _frame(order: LensOrder) -> Iterator[str]:
    frame = order.frame
    yield from _single("FRAM", name_text(frame.model, "The frame's model"))
    for label, size in (
        ("HBOX", frame.a_mm),
        ("VBOX", frame.b_mm),
        ("FED", frame.ed_mm),
        ("FCRV", frame.front_curve_d),
    ):
        yield from _pair(label, _either(size))
    yield from _single("DBL", _fixed(frame.dbl_mm))
    yield from _single("ETYP", "-1" if order.supply == "uncut" else EDGES.get(frame.mount or ""))


def _trace(order: LensOrder) -> Iterator[str]:
    """The shape of both sides in hundredths of a millimetre; the second side is the mirror image of the first."""
    shape = order.frame.shape
    if shape is None:
        return
    try:
        first = LensShape(shape.radii, shape.side)
    except OpticsError:
        return
    other = first.mirrored()
    right, left = (first, other) if first.side == "right" else (other, first)
    yield f"CIRC={right.circumference_mm:.2f};{left.circumference_mm:.2f}"
    for letter, side in (("R", right), ("L", left)):
        radii = [str(round(float(radius) * 100)) for radius in side.radii]
        yield f"TRCFMT=1;{len(radii)};E;{letter};F"
        for start in range(0, len(radii), RADII_A_LINE):
            yield "R=" + ";".join(radii[start : start + RADII_A_LINE])
