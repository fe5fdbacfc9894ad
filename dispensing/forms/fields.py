"""Fields that read what people type: figures with a decimal comma or a true minus sign, and written dates.

A field never guesses; it keeps what was typed and shows a message in the trade's own terms beside it.
"""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from dispensing.dates import DateError, written_date
from dispensing.folding import tidy
from dispensing.models import Practice

LONGEST_FIGURE = 40
_ONE_MINUS = str.maketrans({"\u2212": "-", "\u2013": "-", "\u2010": "-", "\u2011": "-", ",": "."})


class FigureField(forms.DecimalField):
    """A measured figure with its unit, typed with a point or comma and with or without the unit after it."""

    def __init__(self, *, unit: str = "", low: float | None = None, high: float | None = None, **kwargs: Any):
        self.unit, self.low, self.high = unit, low, high
        attrs = {"inputmode": "decimal", "autocomplete": "off", "data-unit": unit}
        kwargs.setdefault("widget", forms.TextInput(attrs=attrs))
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]  # the stubs make it an IntegerField
        text = str(value or "" if value != 0 else "0").strip().translate(_ONE_MINUS)
        if self.unit and text.lower().endswith(self.unit.lower()):
            text = text[: -len(self.unit)].strip()
        if not text:
            return None
        try:
            figure = Decimal(text[: LONGEST_FIGURE + 1])
            if len(text) > LONGEST_FIGURE or not figure.is_finite():
                raise InvalidOperation
            return figure
        except InvalidOperation:
            found = tidy(str(value))[:LONGEST_FIGURE]
            raise ValidationError(f"{found} is not a number. Write it as in 31.5.", code="invalid") from None

    def validate(self, value: Any) -> None:
        super().validate(value)
        if value is None:
            return
        if not (self.low is None or value >= Decimal(str(self.low))) or not (
            self.high is None or value <= Decimal(str(self.high))
        ):
            raise ValidationError(self._range_message(value), code="range")

    def _range_message(self, value: Decimal) -> str:
        found = f"{value} {self.unit}".strip()
        if self.low is not None and self.high is not None:
            return f"{found} cannot be right: {self.low:g} to {self.high:g} {self.unit}".rstrip() + " is possible."
        if self.low is not None:
            return f"{found} is too small: at least {self.low:g} {self.unit}".rstrip() + "."
        return f"{found} is too large: at most {self.high:g} {self.unit}".rstrip() + "."


class WrittenDateField(forms.DateField):
    """A date typed in any usual form; day before month unless the practice is in the US."""

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("widget", forms.DateInput(format="%d/%m/%Y", attrs={"autocomplete": "off"}))
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> date | None:
        if value in self.empty_values:
            return None
        if isinstance(value, date):
            return value
        try:
            return written_date(str(value), month_first())
        except DateError as fault:
            raise ValidationError(str(fault), code="invalid") from None

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, date):
            return value.strftime("%m/%d/%Y" if month_first() else "%d/%m/%Y")
        return value


class TidyCharField(forms.CharField):
    """One line of text, stored composed (NFC) and without invisible direction marks."""

    def __init__(self, **kwargs: Any):
        self.longest = kwargs.pop("max_length", None)
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> str:
        return tidy(super().to_python(value) or "")

    def validate(self, value: str) -> None:
        super().validate(value)
        if self.longest and len(value) > self.longest:
            raise ValidationError(
                f"This has {len(value)} characters; at most {self.longest} fit. Shorten it, and put the rest "
                "under Notes.",
                code="max_length",
            )


def offer(form: forms.BaseForm, name: str, choices: Iterable[Any]) -> None:
    """Sets the choices of one field of ``form`` that are known only once the form is requested."""
    field = form.fields[name]
    assert isinstance(field, forms.ChoiceField)
    field.choices = list(choices)


def offered(form: forms.BaseForm, name: str) -> list[Any]:
    """The choices of one field of ``form``, as value and label."""
    field = form.fields[name]
    assert isinstance(field, forms.ChoiceField)
    choices: Any = field.choices
    return list(choices)


def month_first() -> bool:
    """Whether this practice reads 04/02 as the second of April."""
    return Practice.current().country == "US"
