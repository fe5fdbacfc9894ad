"""Fields for lengths and angles as people type them: ``52``, ``52,5 mm``, ``31.5 32 31.5``, with a true minus sign.

What was typed stays in the field; the message beside it says what was found, what can be, and what to do. Knows no
model.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

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
    """Several readings, parted by spaces, semicolons or slashes; ``31,5`` is one number, ``31, 32`` are two."""
    bare = _UNITS.sub(" ", text.translate(MINUS_SIGNS))
    words = [word.rstrip(",") for word in re.split(r"[\s;/]+", bare)]
    return [float(plain_figure(word)) for word in words if word]


def written(value: Decimal | float) -> str:
    """Without needless zeros."""
    return f"{Decimal(str(value)).normalize():f}"


class FigureField(forms.DecimalField):
    """A length or power. ``possible``: beyond it the figure is a slip, and a tenth or a tenfold is offered."""

    widget = forms.TextInput

    def __init__(self, *, words: str, unit: str, possible: tuple[float, float], decimals: int = 2, **kwargs: Any):
        self.words, self.unit, self.possible = words, unit, possible
        kwargs.setdefault("required", False)
        super().__init__(decimal_places=decimals, max_digits=8, **kwargs)
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off", "data-unit": unit, "maxlength": "20"}

    def to_python(self, value: Any) -> Decimal | None:
        if value in self.empty_values or not str(value).strip():
            return None
        try:
            return super().to_python(plain_figure(str(value)))
        except ValueError:
            low, high = self.possible
            raise ValidationError(
                f"“{str(value)[:20]}” is not a figure. Type {self.words} in {self.unit}, "
                f"between {written(low)} and {written(high)}.",
                code="not-a-figure",
            ) from None

    def validate(self, value: Decimal | None) -> None:
        super().validate(value)
        if value is None or self._can_be(value):
            return
        low, high = self.possible
        raise ValidationError(
            f"{self.words} of {written(value)} {self.unit}: {written(low)} to {written(high)} {self.unit} can be."
            f"{self._guess(value)}",
            code="impossible",
        )

    def _guess(self, value: Decimal) -> str:
        likely = [value * factor for factor in (Decimal("0.1"), Decimal(10)) if self._can_be(value * factor)]
        return f" Is it in {self.unit}? Did you mean {likely[0].quantize(Decimal('0.1'))}?" if likely else ""

    def _can_be(self, value: Decimal) -> bool:
        return self.possible[0] <= value <= self.possible[1]


class ReadingsField(forms.CharField):
    """One or more readings of one figure; gives a tuple of floats, empty when nothing was typed."""

    def __init__(self, *, words: str, unit: str, **kwargs: Any):
        self.words, self.unit = words, unit
        super().__init__(required=False, max_length=80, **kwargs)
        self.widget.attrs |= {"inputmode": "text", "autocomplete": "off", "class": "readings"}

    def clean(self, value: Any) -> tuple[float, ...]:  # type: ignore[override]
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
