"""Fields for lengths and angles as people type them: ``52``, ``52,5 mm``, ``31.5 32 31.5``, with a true minus sign.

What was typed stays in the field; the message beside it says what was found, what is possible and what to do. Knows no
model.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from dispensing.forms.fields import FigureField

MINUS_SIGNS = str.maketrans({"−": "-", "–": "-", "﹣": "-", "－": "-"})
MOST_READINGS = 8
_FIGURE = re.compile(r"[+-]?\d{1,6}(?:\.\d+)?")
_UNITS = re.compile(r"(?<=[\d\s])(?:mm|deg|°|d|dpt)(?![a-z])", re.IGNORECASE)


def plain_figure(text: str) -> str:
    """One typed number with a decimal point, a hyphen for minus and no unit; raises ValueError for anything else."""
    bare = _UNITS.sub("", text.translate(MINUS_SIGNS)).strip().replace(",", ".")
    if not _FIGURE.fullmatch(bare):
        raise ValueError(text)
    return bare


def plain_readings(text: str) -> list[float]:
    """Several readings, separated by spaces, semicolons or slashes; ``31,5`` is one number, ``31, 32`` are two."""
    bare = _UNITS.sub(" ", text.translate(MINUS_SIGNS))
    words = [word.rstrip(",") for word in re.split(r"[\s;/]+", bare)]
    return [float(plain_figure(word)) for word in words if word]


class SizeField(FigureField):
    """A length or power named in ``words``; outside ``possible`` it is a slip, and a tenth or tenfold is suggested."""

    def __init__(self, *, words: str, unit: str, possible: tuple[float, float], decimals: int = 2, **kwargs: Any):
        self.words, self.possible = words, possible
        kwargs.setdefault("required", False)
        super().__init__(unit=unit, low=possible[0], high=possible[1], decimal_places=decimals, max_digits=8, **kwargs)
        self.widget.attrs["maxlength"] = "20"

    def _range_message(self, value: Decimal) -> str:
        low, high = self.possible
        guess = next((tried for tried in (value / 10, value * 10) if low <= tried <= high), None)
        asked = "" if guess is None else f" Is it in {self.unit}? Did you mean {guess:.1f}?"
        return (
            f"{self.words} of {value.normalize():f} {self.unit} is not possible: {low:g} to {high:g} {self.unit} "
            f"is possible.{asked}"
        )


class ReadingsField(forms.CharField):
    """One or more readings of one figure; gives a tuple of floats, empty when nothing was typed."""

    def __init__(self, *, words: str, unit: str, **kwargs: Any):
        self.words, self.unit = words, unit
        super().__init__(required=False, max_length=80, **kwargs)
        self.widget.attrs |= {"inputmode": "text", "autocomplete": "off", "class": "readings"}

    def clean(self, value: Any) -> tuple[float, ...]:
        text = super().clean(value)
        try:
            readings = plain_readings(text)
        except ValueError as fault:
            raise ValidationError(
                f"“{str(fault)[:20]}” is not a reading. Type {self.words} in {self.unit}, "
                "several readings with a space between, as in 31.5 32 31.5.",
                code="not-a-figure",
            ) from None
        if len(readings) > MOST_READINGS:
            raise ValidationError(f"{len(readings)} readings; {MOST_READINGS} at most are kept.", code="too-many")
        return tuple(readings)


def readings_as_text(readings: Iterable[float]) -> str:
    return " ".join(f"{reading:g}" for reading in readings)
