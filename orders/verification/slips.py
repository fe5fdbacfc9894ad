"""What looks like a slip of whoever read the pair, rather than a fault of the lab, each with what it would explain.

A slip is claimed only where the readings, changed accordingly, would be what was ordered, or where they cannot mean
anything as they stand. It is said beside the field and never changes the verdict: the figures stand as typed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from orders.documents.finished_pair import EyeReadings, FinishedReadings, VerdictItem
from orders.documents.lens_order import EYES, Eye, LensOrder
from orders.documents.words import power
from orders.verification.found import HALF_TURN

SlipKind = Literal[
    "eyes-exchanged",
    "cylinder-sign",
    "cylinder-forms-mixed",
    "axis-for-a-sphere",
    "axis-not-possible",
    "add-as-near-power",
    "lens-not-ordered",
]
Judge = Callable[[FinishedReadings], tuple[VerdictItem, ...]]
OF_THE_POWER = frozenset({"meridian_high", "meridian_low", "cylinder", "axis"})


@dataclass(frozen=True)
class Slip:
    """One suspicion. field: the key of the reading that it stands beside; eye: None for both lenses together."""

    kind: SlipKind
    eye: Eye | None
    field: str
    message: str

    def said(self) -> dict[str, object]:
        return {"kind": self.kind, "eye": self.eye, "field": self.field, "message": self.message}


@dataclass(frozen=True)
class Readings:
    """The readings with all that is needed to judge them again, changed."""

    order: LensOrder
    read: FinishedReadings
    items: tuple[VerdictItem, ...]
    judge: Judge

    def fails(self, eye: Eye, quantities: frozenset[str], read: FinishedReadings | None = None) -> bool:
        """Whether any of these figures of one lens fails, as read or as it might have been meant."""
        items = self.items if read is None else self.judge(read)
        return any(item.result == "fail" for item in items if item.eye == eye and item.quantity in quantities)

    def with_eye(self, eye: Eye, **changes: float | None) -> FinishedReadings:
        changed = (self.read.eye(eye) or EyeReadings()).model_copy(update=changes)
        return self.read.model_copy(update={eye: changed})


def slips_in(order: LensOrder, read: FinishedReadings, items: tuple[VerdictItem, ...], judge: Judge) -> Sequence[Slip]:
    """Every slip that these readings look like. items: as they are judged; judge: the items of other readings."""
    readings = Readings(order, read, items, judge)
    exchanged = tuple(_exchanged(readings))
    return (
        *exchanged,
        *(slip for eye in EYES for slip in _of_one_eye(readings, eye, bool(exchanged))),
        *_forms(readings),
    )


def exchanged(read: FinishedReadings) -> FinishedReadings:
    """The same readings with right and left exchanged."""
    return read.model_copy(update={"right": read.left, "left": read.right})


def _exchanged(readings: Readings) -> Iterator[Slip]:
    """Both lenses read, something fails, and with the eyes exchanged nothing does."""
    read = readings.read
    if read.right is None or read.left is None or len(readings.order.ordered_eyes) < len(EYES):
        return
    if not _any_fails(readings.items):
        return
    other_way = readings.judge(exchanged(read))
    if other_way and not _any_fails(other_way):
        yield Slip(
            "eyes-exchanged",
            None,
            "sphere",
            "With right and left exchanged, these readings are what was ordered. "
            "Exchange the readings, or the lenses are in the wrong eyes.",
        )


def _any_fails(items: Sequence[VerdictItem]) -> bool:
    return any(item.result == "fail" for item in items)


def _of_one_eye(readings: Readings, eye: Eye, exchanged_fits: bool) -> Iterator[Slip]:
    read = readings.read.eye(eye)
    if read is None:
        return
    if readings.order.lenses.eye(eye) is None:
        if read != EyeReadings():
            yield Slip(
                "lens-not-ordered",
                eye,
                "sphere",
                f"No {eye} lens is on this order. Are these readings the other lens's?",
            )
        return
    yield from _axis(read, eye)
    if not exchanged_fits:
        yield from _sign(readings, read, eye)
    yield from _add(readings, read, eye)


def _axis(read: EyeReadings, eye: Eye) -> Iterator[Slip]:
    if read.axis is None:
        return
    if not read.cylinder:
        yield Slip(
            "axis-for-a-sphere",
            eye,
            "axis",
            "An axis is written but no cylinder. Write the cylinder, or leave the axis out.",
        )
    elif not 0.0 <= read.axis <= HALF_TURN:
        yield Slip("axis-not-possible", eye, "axis", f"An axis of {read.axis:g} is not possible: write 1 to 180.")


def _sign(readings: Readings, read: EyeReadings, eye: Eye) -> Iterator[Slip]:
    if not read.cylinder or not readings.fails(eye, OF_THE_POWER):
        return
    other = -read.cylinder
    if not readings.fails(eye, OF_THE_POWER, readings.with_eye(eye, cylinder=other)):
        yield Slip(
            "cylinder-sign",
            eye,
            "cylinder",
            f"With {power(other)} instead of {power(read.cylinder)} this is what was ordered. Check the sign.",
        )


def _add(readings: Readings, read: EyeReadings, eye: Eye) -> Iterator[Slip]:
    if read.add is None or read.sphere is None or not readings.fails(eye, frozenset({"add"})):
        return
    add = read.add - read.sphere
    if not readings.fails(eye, frozenset({"add"}), readings.with_eye(eye, add=add)):
        yield Slip(
            "add-as-near-power",
            eye,
            "add",
            f"{power(read.add)} is the near power, not the add: less the sphere of {power(read.sphere)} "
            f"it is an add of {power(add)}.",
        )


def _forms(readings: Readings) -> Iterator[Slip]:
    """One lens read in plus cylinder and the other in minus: right if it was meant, a slip if it was not."""
    right, left = readings.read.right, readings.read.left
    if right is None or left is None or not right.cylinder or not left.cylinder:
        return
    if (right.cylinder > 0.0) != (left.cylinder > 0.0):
        yield Slip(
            "cylinder-forms-mixed",
            None,
            "cylinder",
            "One lens is read in plus cylinder, the other in minus. Each counts as it stands; check both signs.",
        )
