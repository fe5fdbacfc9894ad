"""Fields of the prescription grid: powers, axis, add and prism as typed, read by the optics core's notation.

Nothing is guessed: a power without its sign or decimal point is refused with a message beside its field, and stays as
typed.
"""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from dispensing.optics.notation import (
    NotationError,
    exact_eighth,
    format_power,
    parse_add,
    parse_axis,
    parse_noted_axis,
    parse_power,
)
from dispensing.optics.notation_tokens import PRISM_MOST_PD

AS_FIGURE = str.maketrans(",Δ∆", ".  ")


class WrittenField(forms.CharField):
    """One short text, read by :meth:`read`; an empty field is None."""

    def __init__(self, *, label: str, unit: str = "", **attrs: Any):
        widget = forms.TextInput(
            attrs={"autocomplete": "off", "spellcheck": "false", "maxlength": 20, "data-unit": unit, **attrs}
        )
        super().__init__(label=label, required=False, widget=widget, max_length=20)

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            return self.read(text)
        except NotationError as fault:
            raise ValidationError(self.message(fault, text), code=fault.missing or "notation") from None

    def read(self, text: str) -> Any:
        raise NotImplementedError

    def message(self, fault: NotationError, text: str) -> str:
        if fault.missing == "sign":
            return f"{text}: the sign is missing. Write +{text.lstrip('+- ')} or -{text.lstrip('+- ')}."
        if fault.missing == "decimal point":
            return f"{text}: is the decimal point missing? Write it as in -3.25."
        return f"{text} cannot be read. Write {fault.allowed}."


class PowerField(WrittenField):
    """A signed power in D, or plano."""

    reader: Callable[[str, str], float] = staticmethod(parse_power)

    def read(self, text: str) -> Decimal:
        return as_written(self.reader(text, str(self.label).lower()))


class AddField(WrittenField):
    """An add in D; plus by convention, so the sign may be left out. Nought means no add."""

    def read(self, text: str) -> Decimal | None:
        return as_written(parse_add(text)) or None


class AxisField(WrittenField):
    """Whole degrees, 1 to 180; 0 is read as 180, which is the same meridian."""

    def read(self, text: str) -> int:
        return parse_axis(text)

    @staticmethod
    def notes(text: str) -> tuple[str, ...]:
        """Says what was read differently from how it was typed; also empty if it cannot be read."""
        try:
            return parse_noted_axis(text)[1] if text.strip() else ()
        except NotationError:
            return ()

    def message(self, fault: NotationError, text: str) -> str:
        return f"An axis of {text} is not possible: write a whole number from 1 to 180."


class PrismField(WrittenField):
    """An amount of prism in Δ, without sign; its base is in the field beside it. Nought means no prism."""

    def read(self, text: str) -> Decimal | None:
        plain = text.translate(AS_FIGURE).strip()
        if not re.fullmatch(r"[+-]?\d{1,4}(?:\.\d{1,3})?", plain):
            raise ValidationError(f"{text} cannot be read. Write an amount, as in 1.50.")
        amount = Decimal(plain)
        if not 0 <= amount <= PRISM_MOST_PD:
            raise ValidationError(
                f"A prism of {text} is not possible: 0 to {PRISM_MOST_PD:g} Δ without sign, its base beside it."
            )
        return amount.quantize(Decimal("0.01")) or None


def as_written(power_d: float) -> Decimal:
    """A power as it is stored: to two decimals, or three for an eighth (-3.37 is -3.375)."""
    return Decimal(format_power(exact_eighth(power_d)))
