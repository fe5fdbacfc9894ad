"""What a colleague looking over the shoulder would say about figures typed for a fitting.

Each hint names the field that it appears beside. A *mistake* is a slip that must be put right; an *ask* is unlikely but
possible; a *note* explains. It must never know about pages, the database or orders.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from dispensing.fitting.by_hand import HandFigure
from dispensing.fitting.hand_bands import HAND_BANDS, Usual, usual
from dispensing.optics.rounding import at_least, less_than, more_than
from dispensing.trade import Limits
from dispensing.trade.position_of_wear import wrap_face_form_deg
from dispensing.trade.pupil_distances import looks_like_one_eye, usual_convergence

Level = Literal["mistake", "ask", "note"]
Place = tuple[str, str]
"""Quantity and eye (``right``, ``left`` or ``both``), as in ``("pd_mm", "right")``."""

EYES = ("right", "left")


@dataclass(frozen=True)
class Hint:
    place: Place
    level: Level
    message: str


@dataclass(frozen=True)
class HandFitting:
    """Figures in mm and degrees; ``b_mm``: of the frame, mm; the wearer's age is in whole years; None if not known.

    ``limits``: those in force in the practice.
    """

    figures: Mapping[Place, HandFigure]
    b_mm: float | None = None
    age_years: int | None = None
    near_distance_mm: float | None = None
    limits: Limits = field(default_factory=Limits)

    def value(self, quantity: str, eye: str = "both") -> float | None:
        figure = self.figures.get((quantity, eye))
        return None if figure is None else figure.value

    def usual(self, quantity: str) -> Usual:
        return usual(quantity, self.limits, self.age_years)

    def pair(self, quantity: str) -> tuple[float, float] | None:
        right, left = self.value(quantity, "right"), self.value(quantity, "left")
        return None if right is None or left is None else (right, left)


def hints(fitting: HandFitting) -> list[Hint]:
    """Every hint, in the order of the fields."""
    found = [
        *_impossible(fitting),
        *_near_beyond_far(fitting),
        *_outside_the_frame(fitting),
    ]
    slips = {hint.place for hint in found}
    found.extend(hint for hint in _unusual(fitting) if hint.place not in slips)
    found.extend([*_sum(fitting, slips), *_asymmetry(fitting, slips), *_heights_differ(fitting, slips)])
    found.extend(_near_inset(fitting, slips))
    found.extend(_scatter(fitting))
    return found


def _both_eyes(quantity: str) -> set[Place]:
    return {(quantity, eye) for eye in EYES}


def _written(value: float) -> str:
    return f"{round(value, 2):g}"


def _impossible(fitting: HandFitting) -> Iterator[Hint]:
    for place, figure in fitting.figures.items():
        band = HAND_BANDS[place[0]]
        low, high = band.possible
        if not low <= figure.value <= high:
            yield Hint(place, "mistake", _impossible_message(fitting, place, figure.value))


def _impossible_message(fitting: HandFitting, place: Place, value: float) -> str:
    quantity = place[0]
    band = HAND_BANDS[quantity]
    low, high = band.possible
    unit = "" if band.unit == "°" else " "
    found = f"{_written(value)}{unit}{band.unit}"
    if quantity == "binocular_pd_mm" and looks_like_one_eye(value, fitting.limits, fitting.age_years):
        return (
            f"{found} looks like the PD of one eye: the binocular PD is the distance between both pupils, "
            f"usually {_mostly(fitting.usual(quantity))} mm. Type it beside the eye it belongs to, or add the two eyes."
        )
    if quantity in ("pd_mm", "near_pd_mm") and _in(value, HAND_BANDS["binocular_pd_mm"].possible):
        return (
            f"{found} looks like the PD of both eyes: this field is from the middle of the bridge to one pupil, "
            f"usually {_mostly(fitting.usual('pd_mm'))} mm. Type it as the binocular PD, and each eye's own here."
        )
    guess = f" Did you mean {_written(value / 10)}?" if _in(value / 10, (low, high)) else ""
    return f"A {band.words} of {found} is not possible; {_written(low)} to {_written(high)} can be.{guess}"


def _mostly(band: Usual) -> str:
    return f"{_written(band.low)} to {_written(band.high)}"


def _in(value: float, band: tuple[float, float]) -> bool:
    return band[0] <= value <= band[1]


def _near_beyond_far(fitting: HandFitting) -> Iterator[Hint]:
    for eye in EYES:
        far, near = fitting.value("pd_mm", eye), fitting.value("near_pd_mm", eye)
        if far is not None and near is not None and at_least(near, far):
            yield Hint(
                ("near_pd_mm", eye),
                "mistake",
                f"The near PD of {_written(near)} mm is not smaller than the PD of {_written(far)} mm. "
                "The eyes turn in to read: measure again, or leave it empty.",
            )


def _outside_the_frame(fitting: HandFitting) -> Iterator[Hint]:
    if fitting.b_mm is None:
        return
    low = fitting.b_mm / 2 - fitting.limits.of("height-inside-frame", "most_below_middle_mm")
    high = fitting.b_mm - fitting.limits.of("height-inside-frame", "least_above_cross_mm")
    for eye in EYES:
        height = fitting.value("height_mm", eye)
        if height is None or not _in(height, HAND_BANDS["height_mm"].possible):
            continue  # A height that no lens could have gets its own message.
        if at_least(height, fitting.b_mm):
            yield Hint(
                ("height_mm", eye),
                "mistake",
                f"A height of {_written(height)} mm lies above the top of the lens: B is {_written(fitting.b_mm)} mm. "
                "Measure up from the lowest point of the lens, or correct the frame's B.",
            )
        elif less_than(height, low) or more_than(height, high):
            yield Hint(
                ("height_mm", eye),
                "ask",
                f"{_written(height)} mm is unusual for a fitting cross in a lens {_written(fitting.b_mm)} mm high; "
                f"{_written(low)} to {_written(high)} mm is usual. "
                "For a segment top it may be right.",
            )


def _unusual(fitting: HandFitting) -> Iterator[Hint]:
    for (quantity, eye), figure in fitting.figures.items():
        band, mostly = HAND_BANDS[quantity], fitting.usual(quantity)
        if quantity == "face_form_deg" and _in(figure.value, wrap_face_form_deg(fitting.limits)):
            yield Hint((quantity, eye), "note", f"{_written(figure.value)}° is a wrap front; the lab must know.")
        elif less_than(figure.value, mostly.low) or more_than(figure.value, mostly.high):
            unit = band.unit if band.unit == "°" else f" {band.unit}"
            yield Hint(
                (quantity, eye),
                "ask",
                f"{_written(figure.value)}{unit} is unusual: a {band.words}{mostly.whose} is mostly "
                f"{_mostly(mostly)}{unit}. Measure once more to be sure.",
            )


def _sum(fitting: HandFitting, slips: set[Place]) -> Iterator[Hint]:
    pair, binocular = fitting.pair("pd_mm"), fitting.value("binocular_pd_mm")
    place = ("binocular_pd_mm", "both")
    if pair is None or slips & ({place} | _both_eyes("pd_mm")):
        return
    total = sum(pair)
    shown = f"{_written(pair[0])} + {_written(pair[1])} = {_written(total)} mm"
    if binocular is None:
        yield Hint(place, "note", f"The two eyes add up to {shown}. Measure the pair too, as a check.")
    elif at_least(abs(total - binocular), fitting.limits.of("pd-sum", "difference_mm")):
        limit = _written(fitting.limits.of("pd-sum", "difference_mm"))
        yield Hint(
            place,
            "ask",
            f"The two eyes add up to {shown}, the pair was measured as {_written(binocular)} mm: "
            f"{_written(abs(total - binocular))} mm apart. Measure again; {limit} mm or more stops an order.",
        )
    else:
        yield Hint(place, "note", f"Sum agrees: {shown}, measured {_written(binocular)} mm.")


def _asymmetry(fitting: HandFitting, slips: set[Place]) -> Iterator[Hint]:
    pair = fitting.pair("pd_mm")
    if pair is None or slips & _both_eyes("pd_mm"):
        return
    difference = abs(pair[0] - pair[1])
    if more_than(difference, fitting.limits.of("pd-asymmetry", "difference_mm")):
        much = more_than(difference, fitting.limits.of("pd-asymmetry", "repeat_mm"))
        advice = "Measure again." if much else "Is the frame straight on the nose?"
        yield Hint(("pd_mm", "left"), "ask", f"The PDs differ by {_written(difference)} mm. {advice}")


def _heights_differ(fitting: HandFitting, slips: set[Place]) -> Iterator[Hint]:
    pair = fitting.pair("height_mm")
    if pair is None or slips & _both_eyes("height_mm"):
        return
    difference = abs(pair[0] - pair[1])
    if more_than(difference, fitting.limits.of("heights-differ", "difference_mm")):
        much = more_than(difference, fitting.limits.of("heights-differ", "repeat_mm"))
        advice = "Level the frame and measure again." if much else "Check that the frame sits level."
        yield Hint(("height_mm", "left"), "ask", f"The heights differ by {_written(difference)} mm. {advice}")


def _near_inset(fitting: HandFitting, slips: set[Place]) -> Iterator[Hint]:
    """Far less near PD, for the eyes that have both, compared with what is usual at the working distance."""
    if slips & (_both_eyes("pd_mm") | _both_eyes("near_pd_mm")):
        return
    both = [(eye, fitting.value("pd_mm", eye), fitting.value("near_pd_mm", eye)) for eye in EYES]
    given = {eye: (far, far - near) for eye, far, near in both if far is not None and near is not None}
    if not given:
        return
    far, inset = sum(pd for pd, _ in given.values()), sum(less for _, less in given.values())
    distance = fitting.near_distance_mm
    mostly = usual_convergence(far, fitting.limits, distance)
    if less_than(inset, mostly.low) or more_than(inset, mostly.high):
        whose = "for the pair" if len(given) > 1 else "for this eye"
        where = "with" if distance is None else f"at {distance:g} mm and"
        yield Hint(
            ("near_pd_mm", "left" if "left" in given else "right"),
            "ask",
            f"Near and far differ by {_written(inset)} mm {whose}; {where} a PD of {_written(far)} mm it is mostly "
            f"{mostly.low:.1f} to {mostly.high:.1f} mm.",
        )


def _scatter(fitting: HandFitting) -> Iterator[Hint]:
    for place, figure in fitting.figures.items():
        if figure.scattered:
            unit = HAND_BANDS[place[0]].unit
            space = "" if unit == "°" else " "
            yield Hint(
                place,
                "ask",
                f"The readings lie {_written(figure.spread)}{space}{unit} apart, more than this method usually "
                "scatters. Take another.",
            )
