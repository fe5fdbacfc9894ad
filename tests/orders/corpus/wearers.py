"""Made-up wearers as a practice meets them: ages, powers, pupil distances, and what they wore before.

They are seeded and simple: each figure is drawn from what the trade's textbooks call usual, without looking at the
rules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random
from typing import Any

GROWN_ADD_YEARS = 62
"""From here on adds grow no more."""

AGES = ((0.07, 6, 15), (0.28, 16, 41), (0.35, 42, 59), (0.30, 60, 86))
ACUITIES = ("6/5", "6/6", "6/6", "6/6", "6/7.5", "6/9")
ADDS_BY_AGE = ((45, 1.00), (48, 1.25), (50, 1.50), (53, 1.75), (56, 2.00), (60, 2.25), (67, 2.50), (200, 2.50))
PREVIOUS_SHARE, PRESENT_SHARE = 0.7, 0.25
"""The shares of orders with the last prescription, and without it but with the pair worn now read on the lensmeter.

The last twentieth has neither: a first pair in life, or spectacles left at home or lost. Common practice: whoever is
new to a practice is asked to bring what he wears, and nearly everybody who orders spectacles wears some. The powers of
that twentieth are drawn like all others, though first pairs are weaker in truth and hide less.
"""

PREVIOUS_AND_PRESENT = 0.4
"""Of those with a last prescription, the share whose spectacles are read as well."""

SPECTACLES_FROM_YEARS = 7
"""Younger children are on their first pair."""


@dataclass
class Wearer:
    """age in years; eyes: right and left as the order has them; pd: monocular, mm; near_add: None below presbyopia.

    previous: the last prescription; worn: the power of the pair worn now, without reading noise. None if not known.
    """

    age: int
    driver: bool
    eyes: dict[str, dict[str, Any]]
    pd: dict[str, float]
    near_add: float | None
    previous: dict[str, dict[str, Any]] | None
    worn: dict[str, dict[str, Any]] | None = None

    @property
    def earlier_add(self) -> float | None:
        """The add of the last prescription, and of the pair made by it."""
        if self.near_add is None:
            return None
        return max(0.75, self.near_add - (0.25 if self.age < GROWN_ADD_YEARS else 0.0))


def wearer(rng: Random) -> Wearer:
    age = _age(rng)
    eyes = _eyes(rng)
    add = _add(rng, age)
    before = _before(rng, eyes)
    if rng.random() < 0.03:
        _give_prism(rng, eyes, before)
    known = _known(rng) if age > SPECTACLES_FROM_YEARS else ()
    previous, worn = (before if name in known else None for name in ("previous", "worn"))
    return Wearer(age, age >= 18 and rng.random() < 0.8, eyes, _pd(rng, age), add, previous, worn)


def _known(rng: Random) -> tuple[str, ...]:
    """What the order can say of what was worn before."""
    pick = rng.random()
    if pick < PREVIOUS_SHARE:
        return ("previous", "worn") if rng.random() < PREVIOUS_AND_PRESENT else ("previous",)
    return ("worn",) if pick < PREVIOUS_SHARE + PRESENT_SHARE else ()


def quarter(value: float) -> float:
    return round(value * 4.0) / 4.0


def _age(rng: Random) -> int:
    pick = rng.random()
    for share, low, high in AGES:
        if pick < share:
            return rng.randint(low, high)
        pick -= share
    return rng.randint(60, 86)


def _mean_sphere(rng: Random) -> float:
    """A quarter nearly emmetropic, the rest myopic or hyperopic with a long tail on the myopic side."""
    kind = rng.random()
    if kind < 0.25:
        return rng.gauss(0.0, 0.5)
    if kind < 0.62:
        return -min(0.75 + rng.expovariate(1 / 2.0), 8.5)
    return min(0.75 + rng.expovariate(1 / 1.2), 5.5)


def _cylinder(rng: Random) -> float:
    return 0.0 if rng.random() < 0.3 else -quarter(min(0.25 + rng.expovariate(1 / 0.6), 3.5))


def _eyes(rng: Random) -> dict[str, dict[str, Any]]:
    """The two eyes of one person are alike: powers a quarter or a half apart, axes mirrored about the upright."""
    mean = _mean_sphere(rng)
    apart = rng.gauss(0.0, 1.0) if rng.random() < 0.06 else rng.gauss(0.0, 0.3)
    axis = rng.choice((180.0, 180.0, 90.0, rng.uniform(20, 160))) + rng.gauss(0.0, 9.0)
    right, cylinder = mean + apart / 2.0, _cylinder(rng)
    other = min(0.0, quarter(cylinder + rng.choice((-0.25, 0.0, 0.0, 0.25)))) if cylinder else _cylinder(rng) * 0.5
    return {
        "right": _eye(rng, right, cylinder, axis),
        "left": _eye(rng, mean - apart / 2.0, quarter(other), 180.0 - axis + rng.gauss(0.0, 5.0)),
    }


def _eye(rng: Random, mean: float, cylinder: float, axis: float) -> dict[str, Any]:
    step = 5 if rng.random() < 0.7 else 1
    written = round(axis / step) * step % 180 or 180
    return {
        "sphere": quarter(mean - cylinder / 2.0),
        "cylinder": cylinder or None,
        "axis": written if cylinder else None,
        "add": None,
        "prism": [],
        "acuity": rng.choice(ACUITIES),
    }


def _give_prism(rng: Random, eyes: dict[str, dict[str, Any]], before: dict[str, dict[str, Any]]) -> None:
    """A little prism, shared by the eyes, and worn before: base in or out in both, or up against down."""
    amount = rng.choice((0.5, 1.0, 1.0, 1.5, 2.0))
    right, left = rng.choice((("in", "in"), ("out", "out"), ("up", "down"), ("down", "up")))
    for pair in (eyes, before):
        pair["right"]["prism"] = [{"amount": amount, "base": right}]
        pair["left"]["prism"] = [{"amount": amount, "base": left}]


def _add(rng: Random, age: int) -> float | None:
    if age < 44:
        return None
    usual = next(add for below, add in ADDS_BY_AGE if age < below)
    return usual + rng.choice((-0.25, 0.0, 0.0, 0.0, 0.25)) if usual > 1.0 else usual


def _pd(rng: Random, age: int) -> dict[str, float]:
    """Adults about 63 mm, children less; right and left seldom quite alike (Dodgson 2004)."""
    mean = 63.0 if age >= 18 else 47.0 + min(age, 17) * 0.85
    total = min(max(rng.gauss(mean, 3.2), mean - 7.0), mean + 8.0)
    skew = rng.gauss(0.0, 0.45)
    return {"right": round(total + 2 * skew) / 2.0, "left": round(total - 2 * skew) / 2.0}


def _before(rng: Random, eyes: dict[str, dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """One to three years ago: mostly a step of drift, alike in both eyes; in one of twenty much more."""
    drift = rng.choices((0.0, -0.25, 0.25, -0.5, 0.5, -0.75, 1.0), (40, 22, 18, 8, 7, 3, 2))[0]
    return {side: _eye_before(rng, eye, drift) for side, eye in eyes.items()}


def _eye_before(rng: Random, eye: dict[str, Any], drift: float) -> dict[str, Any]:
    before = dict(eye)
    before["sphere"] = eye["sphere"] + drift + rng.choices((-0.25, 0.0, 0.25), (1, 8, 1))[0]
    if eye["cylinder"]:
        cylinder = eye["cylinder"] + rng.choices((-0.25, 0.0, 0.25), (2, 6, 2))[0]
        spread = 1.5 + 3.0 / max(abs(eye["cylinder"]), 0.25)
        before["cylinder"] = cylinder or None
        before["axis"] = (round(eye["axis"] + rng.gauss(0.0, min(spread, 9.0))) % 180 or 180) if cylinder else None
    before.pop("acuity")
    return before


def in_plus_form(eye: dict[str, Any]) -> dict[str, Any]:
    """The same power with a plus cylinder."""
    if not eye["cylinder"]:
        return eye
    turned = {
        "sphere": eye["sphere"] + eye["cylinder"],
        "cylinder": -eye["cylinder"],
        "axis": (eye["axis"] + 90) % 180 or 180,
    }
    return {**eye, **turned}


def along_180(eye: dict[str, Any]) -> float:
    """Power across, D."""
    cylinder, axis = eye["cylinder"] or 0.0, eye["axis"] or 180
    return float(eye["sphere"] + cylinder * math.sin(math.radians(axis)) ** 2)
