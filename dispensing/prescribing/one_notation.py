"""Acuities in one notation, so that two can be compared at a glance: the way the charts of a country are labelled.

What is written is never changed, only shown, and what cannot be converted without a guess is shown as written: a bare
number that may be a decimal or logMAR, Jaeger's numbers, whose sizes differ from card to card, and counting fingers.
The conversions and their sources are in ``trade/data/acuity_notation.toml``.
"""

from __future__ import annotations

import re
from typing import Literal

from dispensing.prescribing import acuity as written_as
from dispensing.prescribing.acuity import Acuity, Print, print_sizes, read
from dispensing.trade.facts import data_file

Far = Literal["metres", "feet", "decimal"]
SAME_LINE = 0.015
"""As a share: an acuity this near to a line of the chart is called by the chart's own name for it."""
_NEAR_WORD = re.compile(r"^(?:near|reading|nva?)\b\s*[:=]?\s*", re.IGNORECASE)


def far_notation(country: str | None) -> Far:
    """How acuities are written in a country (``GB``); at 6 m where nothing is known of it."""
    place = (country or "").strip().upper().partition("-")[0]
    known: tuple[Far, Far] = ("decimal", "feet")
    return next((notation for notation in known if place in data_file("acuity_notation")[notation]), "metres")


def in_one_notation(written: str, fellow: str | None = None, country: str | None = None) -> str:
    """Far and near acuity as they are written in the country, and as written beside it if that is not the same.

    ``20/40 0.5M`` in Britain: ``6/12 N4 (written 20/40 0.5M)``. ``fellow``: the other eye's, for bare numbers.
    """
    acuity, notation = read(written, fellow, country), far_notation(country)
    if acuity.is_unclear or acuity.notation == "words" or not (acuity.possible or acuity.near_only):
        return acuity.written
    parts = (_far(acuity, notation), _near(acuity.near, notation))
    shown = " ".join(part for part in parts if part)
    return shown if _bare(shown) == _bare(acuity.written) else f"{shown} (written {acuity.written})"


def _far(acuity: Acuity, notation: Far) -> str:
    if acuity.decimal is None:
        return ""
    return f"{line(acuity.decimal, notation)}{acuity.letters}"


def line(decimal: float, notation: Far) -> str:
    """A decimal acuity as a line of a chart: ``6/12``, ``20/40``, ``0.5``."""
    lines = data_file("acuity_notation")["lines"]
    for name, value in zip(lines[notation], lines["decimal"], strict=True):
        if abs(decimal / float(value) - 1.0) <= SAME_LINE:
            return str(name)
    if notation == "metres":
        return written_as.in_metres(decimal)
    return f"20/{20.0 / decimal:.0f}" if notation == "feet" else f"{decimal:.2g}"


def _near(near: str, notation: Far) -> str:
    """Near print with its sizes in points where far acuities are written at 6 m, else in metres."""
    points = float(data_file("acuity_notation")["print"]["points_a_metre"])

    def shown(kind: Print, size: float) -> str:
        if kind == "J":
            return f"J{size:g}"
        in_points = size if kind == "N" else points * size
        if notation == "metres":
            return f"N{in_points:g}" if kind == "N" else f"N{in_points:.0f}"
        # A hair more, so that 0.625 is called 0.63, as on charts.
        in_metres = size if kind == "M" else in_points / points + 1e-9
        return f"{in_metres:.1f}M" if in_metres >= 1.0 else f"{in_metres:.2g}M"

    return print_sizes(_NEAR_WORD.sub("", near), shown)


def _bare(text: str) -> str:
    text = re.sub(r"(?<=\d),(?=\d)", ".", text)
    return re.sub(r"[\s,;:]", "", text).lower()
