"""Remedies that change neither lens nor frame: the day wanted, how the frame gets to the lab, near PD, shared prism."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

from dispensing.optics.prism import Prism, split_equally
from orders.documents.lens_order import EYES
from orders.options.remedy import Proposal
from orders.rules import dates, words
from orders.rules.case import Case, EyeCase

LATEST_DAYS = 40
WORKING_DISTANCES_MM = (300, 330, 350, 400, 450, 500, 550, 600, 650, 700, 800)
ROUTES = {
    "enclosed": "Enclose the frame with the order.",
    "lab_supplies": "Have the lab supply the frame.",
    "to_follow": "Send the frame after the order.",
}


def later_days(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """The first days from the one wanted onwards; the check decides which is late enough."""
    needed = case.order.needed_on
    if needed is None:
        return
    for days in range(1, LATEST_DAYS):
        day = needed + timedelta(days=days)
        if day.weekday() < 5:
            text = f"Promise it for {dates.written(day)}."
            yield Proposal("day", text, {"needed_on": day.isoformat()}, 1.0 + days / 100.0)


def routes(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    for source, text in ROUTES.items():
        if source != case.order.frame.source:
            yield Proposal("route", text, {"frame.source": source}, 1.0)
    if case.order.supply == "fitted":
        yield Proposal("route", "Order the lenses edged, and fit them here.", {"supply": "edged"}, 1.5)


def near_pds(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """The near PDs that go with the far ones; or the working distance that would explain those given."""
    worked_out = {one.eye: one.figures.near_pd_mm for one in case.both}
    change: dict[str, Any] = {
        f"fitting.{side}.near_pd_mm": round(near * 2.0) / 2.0 for side, near in worked_out.items() if near is not None
    }
    if len(change) == len(case.both):
        right, left = change.values()
        distance = words.mm(case.order.fitting.near_distance_mm or 0.0)
        text = f"Use the near PDs worked out for {distance}: {words.number(right)} and {words.number(left)} mm."
        yield Proposal("near PD", text, change, 2.0)
    now = case.order.fitting.near_distance_mm
    for distance_mm in WORKING_DISTANCES_MM if now is not None else ():
        text = (
            f"The near PDs would go with a working distance of {words.mm(distance_mm)}: ask how far the wearer reads."
        )
        change = {"fitting.near_distance_mm": float(distance_mm)}
        yield Proposal("working distance", text, change, 3.0 + abs(distance_mm - (now or 0.0)) / 10000.0)


def shared_prism(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """The two eyes' combined prism, half in each lens: the same effect for the two eyes, with lighter lenses.

    Between the eyes, base in adds to base in horizontally, and base up adds to base down vertically.
    """
    if not case.is_pair:
        return
    right, left = (one.power.prism or Prism() for one in case.both)
    shares = dict(zip(EYES, split_equally(right, left), strict=True))
    change = {f"prescription.{side}.prism": _parts(share) for side, share in shares.items()}
    said = ", ".join(f"{side} {words.prism_parts(share)}" for side, share in shares.items())
    yield Proposal("prism", f"Share the prism, if the prescriber agrees: {said}.", change, 6.0)


def _parts(prism: Prism) -> list[dict[str, Any]]:
    return [{"amount": amount, "base": base} for amount, base in prism.written()]
