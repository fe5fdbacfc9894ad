"""What a careful colleague would ask while a prescription is typed in. Nothing here changes a figure.

A remark of level ``ask`` wants a tick that it is so as written; a ``note`` wants no answer. The key of a remark holds
the figures it is about, so that a tick never covers figures typed afterwards.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

from dispensing.optics.notation import format_power
from dispensing.optics.rounding import is_on_step
from dispensing.prescribing.acuity import read
from dispensing.prescribing.eye import MINUS, EyeFigures

SPHERE_LIMIT_D = 20.0
CYLINDER_LIMIT_D = 6.0
ADD_LIMITS_D = (0.5, 4.0)
VERTEX_MATTERS_FROM_D = 5.0
"""The vertex distance of the test belongs on a prescription from this power on (British Standard practice)."""
LARGE_CHANGE_D = 0.75

# Usual near additions by age (guide values of optometry teaching); a quarter beyond the band is still usual.
ADDS_BY_AGE = ((40, 44, 0.75, 1.0), (45, 49, 1.0, 1.5), (50, 54, 1.5, 2.0), (55, 59, 2.0, 2.5), (60, 130, 2.25, 3.0))
ADD_ROOM_D = 0.75


@dataclass(frozen=True)
class Remark:
    level: Literal["ask", "note"]
    message: str
    key: str


@dataclass(frozen=True)
class Typed:
    """The whole prescription as typed, and what it can be held against.

    ``unread``: eyes of which something is typed that cannot be read yet; they are not empty.
    """

    right: EyeFigures
    left: EyeFigures
    before: tuple[EyeFigures, EyeFigures] | None = None
    age: int | None = None
    vertex_known: bool = False
    unread: frozenset[str] = frozenset()

    @property
    def eyes(self) -> tuple[EyeFigures, EyeFigures]:
        return self.right, self.left


def remarks(typed: Typed) -> list[Remark]:
    """All remarks, those that ask first."""
    found = [remark for look in LOOKS for remark in look(typed)]
    return sorted(found, key=lambda remark: remark.level != "ask")


def _ask(topic: str, message: str, *figures: object) -> Remark:
    return Remark("ask", message, f"{topic}:{':'.join(str(figure) for figure in figures)}")


def _note(message: str) -> Remark:
    return Remark("note", message, message)


def _power(value: float) -> str:
    return format_power(value, minus=MINUS)


def _steps(typed: Typed) -> Iterator[Remark]:
    for eye in typed.eyes:
        for name in ("sphere", "cylinder", "add", "intermediate_add"):
            value = getattr(eye, name)
            if value is not None and not is_on_step(value, 0.25):
                what = f"{eye.eye} {name.replace('_', ' ')}"
                yield _ask("step", f"The {what} {_power(value)} is not a quarter step. Is it so written?", what, value)


def _ranges(typed: Typed) -> Iterator[Remark]:
    for eye in typed.eyes:
        for name, limit in (("sphere", SPHERE_LIMIT_D), ("cylinder", CYLINDER_LIMIT_D)):
            value = getattr(eye, name)
            if value is not None and abs(value) > limit:
                message = f"The {eye.eye} {name} {_power(value)} is beyond {limit:g} D. Is the decimal point right?"
                yield _ask("range", message, eye.eye, name, value)
        if eye.add is not None and eye.add and not ADD_LIMITS_D[0] <= eye.add <= ADD_LIMITS_D[1]:
            message = f"The {eye.eye} add {_power(eye.add)} is unusual: +0.50 to +4.00. Was the near sphere written?"
            yield _ask("add", message, eye.eye, eye.add)


def _adds(typed: Typed) -> Iterator[Remark]:
    right, left = typed.right.add, typed.left.add
    one_eyed = typed.right.power is None or typed.left.power is None
    if bool(right) != bool(left) and not one_eyed:
        holder = "right" if right else "left"
        message = f"Only the {holder} eye has an add. Is the other eye to have none?"
        yield _ask("one-add", message, holder, right or left)
    elif right and left and right != left:
        message = f"The adds differ: right {_power(right)}, left {_power(left)}. Is it so written?"
        yield _ask("adds", message, right, left)
    for eye in typed.eyes:
        if eye.intermediate_add and eye.intermediate_add >= (eye.add or 0.0):
            message = f"The {eye.eye} intermediate add is not smaller than the add. Were the two exchanged?"
            yield _ask("intermediate", message, eye.eye, eye.intermediate_add, eye.add)


def _one_eye(typed: Typed) -> Iterator[Remark]:
    for eye, other in (typed.eyes, typed.eyes[::-1]):
        if eye.power is None and other.power is not None and eye.eye not in typed.unread:
            yield _ask("one-eye", f"Nothing is written for the {eye.eye} eye. Is it to have no prescription?", eye.eye)


def _both_eyes(typed: Typed) -> Iterator[Remark]:
    right, left = typed.right.power, typed.left.power
    if right is None or left is None:
        return
    if right.mean_sphere * left.mean_sphere < 0 and min(abs(right.mean_sphere), abs(left.mean_sphere)) >= 0.5:
        yield _ask("signs", "One eye is plus, the other minus. Are both signs right?", right, left)
    for first, second in ((typed.right.sphere, typed.left.sphere), (typed.left.sphere, typed.right.sphere)):
        if first and second and abs(first) >= 2.5 and abs(first - 10.0 * second) < 0.01:
            yield _ask("slip", "One sphere is ten times the other. Is the decimal point right?", first, second)
    if right == left and abs(right.cylinder) >= 0.5:
        yield _note("Both eyes are the same, axis included. Was one eye copied by mistake?")


def _prisms(typed: Typed) -> Iterator[Remark]:
    right, left = typed.right, typed.left
    if right.vertical and left.vertical and right.vertical[1] == left.vertical[1]:
        message = f"Both eyes have base {right.vertical[1]}: is one of them meant to be the other way?"
        yield _ask("yoked", message, right.vertical, left.vertical)
    if right.horizontal and left.horizontal and right.horizontal[1] != left.horizontal[1]:
        message = "One eye has base in, the other base out: they cancel. Is it so written?"
        yield _ask("opposed", message, right.horizontal, left.horizontal)
    for eye in typed.eyes:
        if eye.prism.amount_pd > 6.0:
            message = f"The {eye.eye} prism of {eye.prism.amount_pd:.2f} Δ is large. Is it meant for this eye alone?"
            yield _ask("prism", message, eye.eye, eye.horizontal, eye.vertical)


def _vertex(typed: Typed) -> Iterator[Remark]:
    powers = [p.power for eye in typed.eyes if eye.power for p in eye.power.principal_powers()]
    strongest = max(powers, key=abs, default=0.0)
    if abs(strongest) >= VERTEX_MATTERS_FROM_D and not typed.vertex_known:
        yield _note(f"At {_power(strongest)} D the vertex distance of the test matters. Write it if it is known.")


def _age(typed: Typed) -> Iterator[Remark]:
    add = typed.right.add or typed.left.add
    if not add or typed.age is None:
        return
    if typed.age < ADDS_BY_AGE[0][0]:
        yield _note(f"An add of {_power(add)} at {typed.age} years is unusual. Was the near sphere written?")
    for youngest, oldest, low, high in ADDS_BY_AGE:
        if youngest <= typed.age <= oldest and not low - ADD_ROOM_D <= add <= high + ADD_ROOM_D:
            usual = f"{_power(low)} to {_power(high)}"
            yield _note(f"At {typed.age} years an add of {usual} is usual; this is {_power(add)}.")


def _acuities(typed: Typed) -> Iterator[Remark]:
    for eye, fellow in (typed.eyes, typed.eyes[::-1]):
        acuity = read(eye.acuity, fellow.acuity)
        if acuity.is_unclear:
            message = f"The {eye.eye} acuity {acuity.written}: {acuity.question()}. {acuity.how_to_write()}"
            yield _ask("acuity", message, eye.eye, eye.acuity, fellow.acuity)
        elif acuity.near_only:
            yield _note(f"{acuity.written} ({eye.eye} eye) is a near acuity. Write that for distance too, if known.")
        elif not acuity.readable:
            yield _note(f"The {eye.eye} acuity {acuity.written} cannot be read as one, so no check will use it.")


def _against_before(typed: Typed) -> Iterator[Remark]:
    if typed.before is None:
        return
    pairs = [(old.power, new.power) for old, new in zip(typed.before, typed.eyes, strict=True)]
    for (old, new), eye in zip(pairs, typed.eyes, strict=True):
        if old is None or new is None:
            continue
        if old.mean_sphere * new.mean_sphere < 0 and abs(old.mean_sphere + new.mean_sphere) < 0.26:
            message = f"The {eye.eye} eye was {_power(old.mean_sphere)} on average before. Is the sign right now?"
            yield _ask("sign-change", message, eye.eye, new)
        elif abs(new.mean_sphere - old.mean_sphere) >= LARGE_CHANGE_D:
            yield _note(f"The {eye.eye} eye changed by {abs(new.mean_sphere - old.mean_sphere):.2f} D on average.")
    (old_right, new_right), (old_left, new_left) = pairs
    if old_right and new_right and old_left and new_left:
        straight = new_right.distance_to(old_right) + new_left.distance_to(old_left)
        crossed = new_right.distance_to(old_left) + new_left.distance_to(old_right)
        if straight - crossed >= LARGE_CHANGE_D:
            yield _ask("exchanged", "These figures fit the other eye of last time. Are R and L exchanged?", *typed.eyes)


LOOKS: tuple[Callable[[Typed], Iterator[Remark]], ...] = (
    _one_eye,
    _steps,
    _ranges,
    _adds,
    _both_eyes,
    _prisms,
    _vertex,
    _age,
    _acuities,
    _against_before,
)
