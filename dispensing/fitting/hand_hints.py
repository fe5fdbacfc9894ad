"""What a colleague looking over the shoulder would say about figures typed for a fitting.

Each hint names the field it stands beside. A *mistake* is a slip that must be put right; an *ask* is unlikely but
possible; a *note* explains. It must never know about pages, the database or orders.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from dispensing.fitting import hand_bands as bands
from dispensing.fitting.by_hand import HandFigure
from dispensing.fitting.hand_bands import HAND_BANDS
from dispensing.optics.rounding import at_least, less_than, more_than
from dispensing.trade.limits import TRADE
from dispensing.trade.pupil_distances import usual_convergence

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
    """Figures in mm and degrees; ``b_mm`` of the frame, mm; the wearer's age in years; either None if not known."""

    figures: Mapping[Place, HandFigure]
    b_mm: float | None = None
    age_years: float | None = None
    near_distance_mm: float | None = None

    def value(self, quantity: str, eye: str = "both") -> float | None:
        figure = self.figures.get((quantity, eye))
        return None if figure is None else figure.value

    def pair(self, quantity: str) -> tuple[float, float] | None:
        right, left = self.value(quantity, "right"), self.value(quantity, "left")
        return None if right is None or left is None else (right, left)


def hints(fitting: HandFitting) -> list[Hint]:
    """All that is to be said, in the order of the fields."""
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


def mistakes(fitting: HandFitting) -> list[Hint]:
    """Only the slips that keep a fitting from being saved."""
    return [hint for hint in hints(fitting) if hint.level == "mistake"]


def _both_eyes(quantity: str) -> set[Place]:
    return {(quantity, eye) for eye in EYES}


def _written(value: float) -> str:
    return f"{round(value, 2):g}"


def _impossible(fitting: HandFitting) -> Iterator[Hint]:
    for place, figure in fitting.figures.items():
        band = HAND_BANDS[place[0]]
        low, high = band.possible
        if not low <= figure.value <= high:
            yield Hint(place, "mistake", _impossible_message(place, figure.value))


def _impossible_message(place: Place, value: float) -> str:
    quantity = place[0]
    band = HAND_BANDS[quantity]
    low, high = band.possible
    unit = "" if band.unit == "°" else " "
    found = f"{_written(value)}{unit}{band.unit}"
    if quantity == "binocular_pd_mm" and _in(value, HAND_BANDS["pd_mm"].possible):
        return (
            f"{found} looks like the PD of one eye: the binocular PD is the distance between both pupils, "
            "usually 54 to 74 mm. Type it beside the eye it belongs to, or add the two eyes."
        )
    if quantity in ("pd_mm", "near_pd_mm") and _in(value, HAND_BANDS["binocular_pd_mm"].possible):
        return (
            f"{found} looks like the PD of both eyes: this field is from the middle of the bridge to one pupil, "
            "usually 26 to 38 mm. Type it as the binocular PD, and each eye's own here."
        )
    guess = f" Did you mean {_written(value / 10)}?" if _in(value / 10, (low, high)) else ""
    return f"A {band.words} of {found} is not possible; {_written(low)} to {_written(high)} can be.{guess}"


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
    for eye in EYES:
        height = fitting.value("height_mm", eye)
        if height is None or not _in(height, HAND_BANDS["height_mm"].possible):
            continue  # A height no lens could have has its own message.
        if at_least(height, fitting.b_mm):
            yield Hint(
                ("height_mm", eye),
                "mistake",
                f"A height of {_written(height)} mm lies above the top of the lens: B is {_written(fitting.b_mm)} mm. "
                "Measure up from the lowest point of the lens, or correct the frame's B.",
            )
        elif less_than(height, fitting.b_mm / 2 - 1) or more_than(height, fitting.b_mm - 8):
            yield Hint(
                ("height_mm", eye),
                "ask",
                f"{_written(height)} mm is unusual for a fitting cross in a lens {_written(fitting.b_mm)} mm high; "
                f"{_written(fitting.b_mm / 2 - 1)} to {_written(fitting.b_mm - 8)} mm is usual. "
                "For a segment top it may be right.",
            )


def _unusual(fitting: HandFitting) -> Iterator[Hint]:
    child = fitting.age_years is not None and fitting.age_years < bands.CHILD_UNTIL_YEARS
    for (quantity, eye), figure in fitting.figures.items():
        band = HAND_BANDS[quantity]
        low, high = bands.USUAL_OF_A_CHILD.get(quantity, band.usual) if child else band.usual
        if quantity == "face_form_deg" and _in(figure.value, bands.USUAL_WRAP_DEG):
            yield Hint((quantity, eye), "note", f"{_written(figure.value)}° is a wrap front; the lab must know.")
        elif less_than(figure.value, low) or more_than(figure.value, high):
            who = " of a child" if child and quantity in bands.USUAL_OF_A_CHILD else ""
            unit = band.unit if band.unit == "°" else f" {band.unit}"
            yield Hint(
                (quantity, eye),
                "ask",
                f"{_written(figure.value)}{unit} is unusual: a {band.words}{who} is mostly "
                f"{_written(low)} to {_written(high)}{unit}. Measure once more to be sure.",
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
    elif at_least(abs(total - binocular), bands.SUM_LIMIT_MM):
        yield Hint(
            place,
            "ask",
            f"The two eyes add up to {shown}, the pair was measured as {_written(binocular)} mm: "
            f"{_written(abs(total - binocular))} mm apart. Measure again; 1 mm or more stops an order.",
        )
    else:
        yield Hint(place, "note", f"Sum agrees: {shown}, measured {_written(binocular)} mm.")


def _asymmetry(fitting: HandFitting, slips: set[Place]) -> Iterator[Hint]:
    pair = fitting.pair("pd_mm")
    if pair is None or slips & _both_eyes("pd_mm"):
        return
    difference = abs(pair[0] - pair[1])
    if more_than(difference, bands.ASYMMETRY_USUAL_MM):
        much = more_than(difference, bands.ASYMMETRY_LIMIT_MM)
        advice = "Measure again." if much else "Is the frame straight on the nose?"
        yield Hint(("pd_mm", "left"), "ask", f"The PDs differ by {_written(difference)} mm. {advice}")


def _heights_differ(fitting: HandFitting, slips: set[Place]) -> Iterator[Hint]:
    pair = fitting.pair("height_mm")
    if pair is None or slips & _both_eyes("height_mm"):
        return
    difference = abs(pair[0] - pair[1])
    if more_than(difference, bands.HEIGHTS_DIFFER_USUAL_MM):
        much = more_than(difference, bands.HEIGHTS_DIFFER_LIMIT_MM)
        advice = "Level the frame and measure again." if much else "Check that the frame sits level."
        yield Hint(("height_mm", "left"), "ask", f"The heights differ by {_written(difference)} mm. {advice}")


def _near_inset(fitting: HandFitting, slips: set[Place]) -> Iterator[Hint]:
    far, near = fitting.pair("pd_mm"), fitting.pair("near_pd_mm")
    distance = fitting.near_distance_mm
    if slips & (_both_eyes("pd_mm") | _both_eyes("near_pd_mm")):
        return
    if far is None or near is None or distance is None:
        return
    inset, usual = sum(far) - sum(near), usual_convergence(sum(far), TRADE, distance)
    if less_than(inset, usual.low) or more_than(inset, usual.high):
        yield Hint(
            ("near_pd_mm", "left"),
            "ask",
            f"Near and far differ by {_written(inset)} mm for the pair; at {distance:g} mm and a PD of "
            f"{_written(sum(far))} mm it is mostly {usual.low:.1f} to {usual.high:.1f} mm.",
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
