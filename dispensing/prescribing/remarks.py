"""What a careful colleague would ask while a prescription is typed in. Nothing here changes a figure.

A remark of level ``ask`` needs a tick to confirm what is written; a ``note`` needs no answer. The key of a remark holds
the figures it is about, so that a tick never applies to figures typed later.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Literal

from dispensing.optics.notation import format_amount, format_power
from dispensing.optics.rounding import at_least, is_on_step, less_than, more_than
from dispensing.prescribing.acuity import read
from dispensing.prescribing.eye import MINUS, EyeFigures
from dispensing.prescribing.slips import exchanged, is_flipped, is_ten_times
from dispensing.trade import Limits
from dispensing.trade.adds import believable_add, usual_add

RANGE = "power-step-and-range"
STEPS = {"sphere": RANGE, "cylinder": RANGE, "add": "add-range", "intermediate_add": "add-range"}
"""The rule that sets the step for each figure."""


AS_WRITTEN = "Yes, that is what it says"


@dataclass(frozen=True)
class Remark:
    """``tick``: what a person says by ticking it. ``field``: the form's field that answers it instead, if one does."""

    level: Literal["ask", "note"]
    message: str
    key: str
    tick: str = AS_WRITTEN
    field: str = ""


@dataclass(frozen=True)
class Typed:
    """The whole prescription as typed, and what it can be compared with.

    ``before_is_worn``: it is compared with what the pair worn now reads, and not with the last prescription.
    ``unread``: eyes with something typed that cannot be read yet, so they are not empty. ``notes``: what was read
    differently from how it was typed. ``limits``: those in force in the practice. ``country``: the practice's,
    whose notation decides about bare acuities.
    """

    right: EyeFigures
    left: EyeFigures
    before: tuple[EyeFigures, EyeFigures] | None = None
    before_is_worn: bool = False
    age: int | None = None
    vertex_known: bool = False
    unread: frozenset[str] = frozenset()
    notes: tuple[str, ...] = ()
    limits: Limits = field(default_factory=Limits)
    country: str | None = None

    @property
    def eyes(self) -> tuple[EyeFigures, EyeFigures]:
        return self.right, self.left


def remarks(typed: Typed) -> list[Remark]:
    """All remarks, those of level ``ask`` first."""
    found = [remark for look in LOOKS for remark in look(typed)]
    return sorted(found, key=lambda remark: remark.level != "ask")


def _ask(topic: str, message: str, *figures: object) -> Remark:
    return Remark("ask", message, f"{topic}:{':'.join(str(figure) for figure in figures)}")


def _note(message: str) -> Remark:
    return Remark("note", message, message)


def _power(value: float) -> str:
    return format_power(value, minus=MINUS)


def _noted(typed: Typed) -> Iterator[Remark]:
    yield from (_note(note) for note in typed.notes)


def _steps(typed: Typed) -> Iterator[Remark]:
    for eye in typed.eyes:
        for name, rule in STEPS.items():
            value = getattr(eye, name)
            if value is not None and not is_on_step(value, typed.limits.of(rule, "step_d")):
                what = f"{eye.eye} {name.replace('_', ' ')}"
                yield _ask("step", f"The {what} {_power(value)} is not a quarter step. Is it so written?", what, value)


def _ranges(typed: Typed) -> Iterator[Remark]:
    least, most = (typed.limits.of("add-range", name) for name in ("least_d", "most_d"))
    for eye in typed.eyes:
        for name in ("sphere", "cylinder"):
            value, limit = getattr(eye, name), typed.limits.of(RANGE, f"{name}_max_d")
            if value is not None and more_than(abs(value), limit):
                message = f"The {eye.eye} {name} {_power(value)} is beyond {limit:g} D. Is the decimal point right?"
                yield _ask("range", message, eye.eye, name, value)
        if eye.add and (less_than(eye.add, least) or more_than(eye.add, most)):
            usual = f"{_power(least)} to {_power(most)}"
            message = f"The {eye.eye} add {_power(eye.add)} is unusual: {usual}. Was the near sphere written?"
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
        if eye.power is None and not eye.balance and other.power is not None and eye.eye not in typed.unread:
            yield _ask("one-eye", f"Nothing is written for the {eye.eye} eye. Is it to have no prescription?", eye.eye)


def _balances(typed: Typed) -> Iterator[Remark]:
    if typed.right.balance and typed.left.balance:
        yield _ask("balance", "Both eyes are to have a balance lens. Which eye is it to match?")


def _both_eyes(typed: Typed) -> Iterator[Remark]:
    right, left, limits = typed.right.power, typed.left.power, typed.limits
    if right is None or left is None:
        return
    if is_flipped(right.in_minus_cylinder().sphere, left.in_minus_cylinder().sphere, limits):
        yield _ask("signs", "One eye is plus, the other minus. Are both signs right?", right, left)
    if right.sphere and left.sphere and is_ten_times(right.sphere, left.sphere, limits):
        message = "One sphere is ten times the other. Is the decimal point right?"
        yield _ask("slip", message, typed.right.sphere, typed.left.sphere)
    if right == left and at_least(abs(right.cylinder), limits.of("eyes-identical", "cylinder_d")):
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
        if more_than(eye.prism.amount_pd, typed.limits.of("prism-size", "most_pd")):
            message = f"The {eye.eye} prism of {eye.prism.amount_pd:.2f} Δ is large. Is it meant for this eye alone?"
            yield _ask("prism", message, eye.eye, eye.horizontal, eye.vertical)


def _vertex(typed: Typed) -> Iterator[Remark]:
    powers = [p.power for eye in typed.eyes if eye.power for p in eye.power.principal_powers()]
    strongest = max(powers, key=abs, default=0.0)
    if at_least(abs(strongest), typed.limits.of("vertex-effect", "power_d")) and not typed.vertex_known:
        at = _power(strongest)
        message = f"At {at} D a few millimetres change the power at the eye. Write the vertex distance of the test."
        tick = "It is not on the paper, and the prescriber cannot be asked now"
        yield Remark("ask", message, f"vertex:{strongest}", tick, "vertex_mm")


def _age(typed: Typed) -> Iterator[Remark]:
    """As in the order's rule: an add outside what is believable at the age; one remark if both eyes have it."""
    if typed.age is None:
        return
    (low, high), (least, most) = usual_add(typed.age), believable_add(typed.age, typed.limits)
    for add in dict.fromkeys(eye.add for eye in typed.eyes if eye.add):
        if not (less_than(add, least) or more_than(add, most)):
            continue
        if not high:
            yield _note(f"An add of {_power(add)} at {typed.age} years is unusual. Was the near sphere written?")
        else:
            usual = f"{_power(low)} to {_power(high)}"
            yield _note(f"At {typed.age} years an add of {usual} is usual; this is {_power(add)}.")


def _acuities(typed: Typed) -> Iterator[Remark]:
    for eye, fellow in (typed.eyes, typed.eyes[::-1]):
        acuity = read(eye.acuity, fellow.acuity, typed.country)
        if acuity.is_unclear:
            message = f"The {eye.eye} acuity {acuity.written}: {acuity.question()}. {acuity.how_to_write()}"
            yield _ask("acuity", message, eye.eye, eye.acuity, fellow.acuity)
        elif acuity.near_only:
            yield _note(f"{acuity.written} ({eye.eye} eye) is a near acuity. Write that for distance too, if known.")
        elif acuity.is_a_slip:
            message = f"The {eye.eye} acuity {acuity.written} is on no chart. Was a figure or the stroke left out?"
            yield _ask("acuity", message, eye.eye, eye.acuity)
        elif not acuity.readable:
            yield _note(f"The {eye.eye} acuity {acuity.written} cannot be read as one, so no check will use it.")


def _against_before(typed: Typed) -> Iterator[Remark]:
    if typed.before is None:
        return
    pairs = [(old.power, new.power) for old, new in zip(typed.before, typed.eyes, strict=True)]
    for (old, new), eye in zip(pairs, typed.eyes, strict=True):
        if old is None or new is None:
            continue
        was, changed = old.in_minus_cylinder().sphere, abs(new.mean_sphere - old.mean_sphere)
        if is_flipped(new.in_minus_cylinder().sphere, was, typed.limits):
            then = f"is {_power(was)} in the pair worn now" if typed.before_is_worn else f"was {_power(was)} before"
            yield _ask("sign-change", f"The sphere of the {eye.eye} eye {then}. Is the sign right now?", eye.eye, new)
        elif at_least(changed, typed.limits.of("large-change", "mean_sphere_d")):
            since = " from the pair worn now" if typed.before_is_worn else ""
            yield _note(f"The {eye.eye} eye changed by {format_amount(changed)} D on average{since}.")
    (old_right, new_right), (old_left, new_left) = pairs
    if not (old_right and new_right and old_left and new_left):
        return
    if exchanged((new_right, new_left), (old_right, old_left), typed.limits):
        then = "in the pair worn now" if typed.before_is_worn else "of last time"
        yield _ask("exchanged", f"These figures fit the other eye {then}. Are R and L exchanged?", *typed.eyes)


LOOKS: tuple[Callable[[Typed], Iterator[Remark]], ...] = (
    _noted,
    _one_eye,
    _steps,
    _ranges,
    _adds,
    _balances,
    _both_eyes,
    _prisms,
    _vertex,
    _age,
    _acuities,
    _against_before,
)
