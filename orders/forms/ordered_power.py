"""The power to be made for one eye where it is stated rather than left to the prescription: as typed, read as a
prescription's is.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from dispensing.forms.power_fields import AxisField, PowerField
from dispensing.forms.typed import typed


class OrderedPowerForm(forms.Form):
    """Sphere, cylinder and axis. The prism stays as prescribed."""

    sphere = PowerField(label="Sphere", unit="D")
    cylinder = PowerField(label="Cylinder", unit="D")
    axis = AxisField(label="Axis", unit="°")

    @classmethod
    def of(cls, stated: Mapping[str, Any]) -> OrderedPowerForm:
        return cls(typed(stated))

    def power(self) -> dict[str, float]:
        """The power as ``lens-order/1`` keys."""
        self.is_valid()
        return {name: float(value) for name, value in self.cleaned_data.items() if value is not None}

    def clean(self) -> dict[str, Any]:
        """A cylinder needs its axis, and a power its sphere. Nought of cylinder is none."""
        cleaned = super().clean() or {}
        if "sphere" in cleaned and cleaned["sphere"] is None:
            self.add_error("sphere", "A power to be made needs its sphere; 0.00 for plano.")
        if not cleaned.get("cylinder"):
            return {**cleaned, "cylinder": None, "axis": None}
        if "axis" in cleaned and cleaned["axis"] is None:
            self.add_error("axis", "A cylinder needs its axis, 1 to 180.")
        return cleaned
