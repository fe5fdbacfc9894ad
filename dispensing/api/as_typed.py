"""JSON values as a person would type them into the page's form, so that one form judges both."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.forms import BaseForm
from django.http import QueryDict
from rest_framework.exceptions import ValidationError

SIGNED = frozenset({"sphere", "cylinder"})


def typed(values: Mapping[str, Any], prefix: str = "") -> QueryDict:
    """``{"sphere": -3.25}`` → ``sphere=-3.25``; with a prefix ``right-sphere=-3.25``. Null is an empty field."""
    data = QueryDict(mutable=True)
    for name, value in values.items():
        if value is not None and value is not False:
            data[f"{prefix}-{name}" if prefix else name] = _text(name, value)
    return data


def _text(name: str, value: Any) -> str:
    if value is True:
        return "on"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal | float):
        return f"{value:+f}" if name in SIGNED and value else f"{value:f}"
    return str(value)


def refuse(form: BaseForm, prefix: str = "") -> None:
    """Raise the form's errors as the API tells them; nothing when the form is right."""
    if not form.errors:
        return
    told = {("non_field_errors" if name == "__all__" else name): errors for name, errors in form.errors.items()}
    raise ValidationError({prefix: told} if prefix else told)
