"""What changed between two prescriptions, eye by eye, in words: a power is compared as a vector.

The mean sphere M says whether an eye is more minus or more plus; the difference of (J0, J45) is one cylinder that says
how far the astigmatism changed, whatever the notation (Thibos, Wheeler and Horner 1997).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from dispensing.optics.notation import format_amount, format_axis, format_power
from dispensing.prescribing.eye import MINUS, EyeFigures, Form

NOTHING_D = 0.005


@dataclass(frozen=True)
class EyeChange:
    """One eye's change. ``size_d``: length of the difference of the power vectors, D; None if either has no power."""

    eye: str
    sentences: tuple[str, ...]
    size_d: float | None

    @property
    def text(self) -> str:
        return "; ".join(self.sentences)


def compare(before: EyeFigures, now: EyeFigures, form: Form) -> EyeChange:
    """Compares ``now`` with ``before``, both written in the cylinder form ``form``."""
    old, new = before.power, now.power
    if old is None or new is None:
        nothing = "a balance lens before" if before.balance else "no power to compare with"
        said = nothing if old is None else "not complete yet"
        return EyeChange(now.eye, (said,), None)
    difference = new.vector() - old.vector()
    sentences = [_mean(difference.m), *_cylinder(before.in_form(form), now.in_form(form), difference)]
    sentences += _adds(before, now) + _prisms(before, now) + _balance(before, now)
    told = tuple(sentence for sentence in sentences if sentence)
    return EyeChange(now.eye, told or ("no change",), difference.length)


def _mean(change_d: float) -> str:
    if abs(change_d) < NOTHING_D:
        return ""
    return f"{format_amount(change_d)} D more {'plus' if change_d > 0 else 'minus'}"


def _cylinder(old: EyeFigures, new: EyeFigures, difference: object) -> list[str]:
    told = []
    before, after = old.cylinder or 0.0, new.cylinder or 0.0
    if abs(before - after) >= NOTHING_D:
        told.append(f"cylinder {_power(before)} → {_power(after)}")
    if before and after and old.axis != new.axis:
        told.append(f"axis {format_axis(old.axis or 180)} → {format_axis(new.axis or 180)}")
    crossed = 2.0 * math.hypot(getattr(difference, "j0", 0.0), getattr(difference, "j45", 0.0))
    if told and crossed >= NOTHING_D:
        told.append(f"astigmatism moved by a {format_amount(crossed)} D cylinder")
    return told


def _adds(before: EyeFigures, now: EyeFigures) -> list[str]:
    pairs = (("add", before.add, now.add), ("intermediate add", before.intermediate_add, now.intermediate_add))
    return [f"{name} {_or_none(old)} → {_or_none(new)}" for name, old, new in pairs if (old or 0.0) != (new or 0.0)]


def _prisms(before: EyeFigures, now: EyeFigures) -> list[str]:
    if before.prism == now.prism:
        return []
    return [f"prism {prism_words(before)} → {prism_words(now)}"]


def _balance(before: EyeFigures, now: EyeFigures) -> list[str]:
    if before.balance == now.balance:
        return []
    return ["now a balance lens" if now.balance else "no balance lens any more"]


def prism_words(eye: EyeFigures) -> str:
    """``2.00 Δ in, 1.00 Δ up``, or ``none``."""
    parts = [part for part in (eye.horizontal, eye.vertical) if part is not None]
    return ", ".join(f"{amount:.2f} Δ {base}" for amount, base in parts) or "none"


def _power(value: float) -> str:
    return format_power(value, minus=MINUS)


def _or_none(value: float | None) -> str:
    return "none" if not value else _power(value)
