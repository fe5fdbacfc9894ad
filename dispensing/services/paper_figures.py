"""The figures that the scans of a prescription state, kept on its row: the order check need not look at them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from dispensing.models import PaperReading, PaperState, Prescription
from dispensing.optics.conventions import EYES


def keep_figures(prescription: Prescription) -> None:
    """Write on the prescription what its scans say without doubt and nobody has settled; the latest scan first."""
    papers = PaperReading.objects.filter(scan__prescription=prescription, state=PaperState.READ)
    figures: dict[str, dict[str, Any]] = {}
    for paper in papers:
        for eye, found in figures_of_fields(paper.found, paper.settled).items():
            figures.setdefault(eye, found)
    Prescription.objects.filter(pk=prescription.pk).update(read_off_paper=figures or None)


def figures_of_fields(found: Iterable[Mapping[str, Any]], settled: Iterable[str] = ()) -> dict[str, dict[str, Any]]:
    """By eye, the figures of the fields that were read without doubt, as the order check takes them.

    ``settled``: names of fields that do not count. A prism is one figure: settled in part, all of the eye's goes.
    """
    left_out = set(settled)
    without_prism = {name.partition("-")[0] for name in left_out if "-prism" in name}
    sure = {
        one["name"]: one["value"]
        for one in found
        if one["value"] is not None and not one["unsure"] and one["name"] not in left_out
    }
    figures: dict[str, dict[str, Any]] = {}
    for eye in EYES:
        mine = {
            name: sure[f"{eye}-{name}"]
            for name in ("sphere", "cylinder", "axis", "add", "intermediate_add")
            if f"{eye}-{name}" in sure
        }
        prism = [
            {"amount": sure[amount], "base": sure[f"{amount}_base"]}
            for amount in (f"{eye}-prism_horizontal", f"{eye}-prism_vertical")
            if eye not in without_prism and amount in sure and f"{amount}_base" in sure
        ]
        if mine or prism:
            figures[eye] = mine | ({"prism": prism} if prism else {})
    return figures
