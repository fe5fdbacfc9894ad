"""One eye of a prescription as figures, and its two written forms.

Powers in D, axis in whole degrees, prism in Δ with its base.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from dispensing.optics.conventions import Eye
from dispensing.optics.notation import format_prescription_line
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism

MINUS = "\u2212"
Form = Literal["minus", "plus"]


@dataclass(frozen=True)
class EyeFigures:
    """One eye's line; None for whatever is not written. ``horizontal`` and ``vertical``: amount in Δ and base.

    ``acuity``: as written, for :func:`dispensing.prescribing.acuity.read`. ``balance``: a balance lens is prescribed.
    """

    eye: Eye
    sphere: float | None = None
    cylinder: float | None = None
    axis: int | None = None
    add: float | None = None
    intermediate_add: float | None = None
    horizontal: tuple[float, str] | None = None
    vertical: tuple[float, str] | None = None
    acuity: str = ""
    balance: bool = False

    @classmethod
    def of(cls, eye: Eye, values: Mapping[str, Any]) -> EyeFigures:
        """From a mapping keyed by the record's field names: ``sphere`` … ``prism_vertical_base``."""
        return cls(
            eye,
            _power(values.get("sphere")),
            _power(values.get("cylinder")),
            None if values.get("axis") is None else int(values["axis"]),
            _power(values.get("add")),
            _power(values.get("intermediate_add")),
            _prism(values, "prism_horizontal"),
            _prism(values, "prism_vertical"),
            values.get("acuity") or "",
            bool(values.get("balance")),
        )

    @property
    def power(self) -> SphereCylinder | None:
        """The distance power, or None while it is incomplete."""
        if self.sphere is None or (self.cylinder and self.axis is None):
            return None
        return SphereCylinder.written(self.sphere, self.cylinder, self.axis)

    @property
    def prism(self) -> Prism:
        total = Prism()
        for part in (self.horizontal, self.vertical):
            if part is not None:
                total = total + Prism.from_base(*part)
        return total

    def in_form(self, form: Form) -> EyeFigures:
        """The same power in minus or plus cylinder; an incomplete power is returned unchanged."""
        power = self.power
        if power is None or not power.cylinder:
            return self
        turned = power.in_minus_cylinder() if form == "minus" else power.in_plus_cylinder()
        return replace(self, sphere=turned.sphere, cylinder=turned.cylinder, axis=round(turned.axis))

    def line(self, form: Form) -> str:
        """``−3.25 / −1.00 x 170``; empty while the power is incomplete."""
        if self.power is None:
            return ""
        shown = self.in_form(form)
        assert shown.sphere is not None
        return format_prescription_line(shown.sphere, shown.cylinder, shown.axis, plano="Plano", minus=MINUS)


def _power(value: Any) -> float | None:
    return None if value is None else float(value)


def _prism(values: Mapping[str, Any], name: str) -> tuple[float, str] | None:
    amount, base = values.get(name), values.get(f"{name}_base")
    return (float(amount), str(base)) if amount and base else None
