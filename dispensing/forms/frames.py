"""A frame as typed in: boxed sizes checked against one another, and a shape from radii or a tracer's file.

The form judges and reports; it writes nothing. If something else is wrong, the shape read from a file stays in the
radii field, because a browser will not send the file again.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cached_property
from math import hypot
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from dispensing.forms.fields import TidyCharField, offer, offered
from dispensing.forms.figures import SizeField
from dispensing.forms.model_form import ModelForm
from dispensing.models import Frame
from dispensing.models.choices import Mount
from dispensing.models.frames import ShapeOrigin
from dispensing.optics.boxing import FEWEST_RADII
from dispensing.optics.rounding import less_than, more_than
from dispensing.queries.limits import limits_in_force
from dispensing.services.frame_shapes import (
    FrameShape,
    ShapeFault,
    radii_as_text,
    shape_from_text,
    shape_from_trace,
)
from dispensing.trade import figure

LARGEST_TRACE_BYTES = 200_000
HUNDREDTH = Decimal("0.01")


def _possible(size: str) -> tuple[float, float]:
    """The range in mm outside which a size is a slip."""
    return figure("typed-frame", f"{size}_least_mm"), figure("typed-frame", f"{size}_most_mm")


class RadiiField(forms.CharField):
    """Radii as text; the different line endings that a browser sends do not count as a change."""

    def has_changed(self, initial: Any, data: Any) -> bool:
        return (initial or "").split() != (data or "").split()


class FrameForm(ModelForm[Frame]):
    """``frame``: the one to change, or None for a new one. ``own``: a patient's own, without stock fields."""

    model = TidyCharField(label="Model", max_length=100)
    colour = TidyCharField(label="Colour", max_length=60, required=False)
    stock_number = TidyCharField(label="Stock number", max_length=40, required=False)
    condition = TidyCharField(label="Condition", max_length=200, required=False)
    a_mm = SizeField(words="A", unit="mm", possible=_possible("a"), label="A, lens width")
    b_mm = SizeField(words="B", unit="mm", possible=_possible("b"), label="B, lens height")
    dbl_mm = SizeField(words="DBL", unit="mm", possible=_possible("dbl"), label="DBL, between lenses")
    ed_mm = SizeField(words="ED", unit="mm", possible=_possible("ed"), label="ED, effective diameter")
    front_curve_d = SizeField(
        words="A front curve",
        unit="D",
        possible=(0, figure("typed-frame", "curve_most_d")),
        label="Front curve",
        help_text="As a 1.530 lens clock reads.",
    )
    side_length_mm = SizeField(
        words="A side length", unit="mm", possible=_possible("side"), decimals=0, label="Side length"
    )
    radii = RadiiField(
        label="Radii of the right lens, in mm",
        required=False,
        strip=True,
        max_length=200_000,
        widget=forms.Textarea(attrs={"rows": 5, "spellcheck": "false", "autocomplete": "off"}),
        help_text=(
            "From the boxed centre, seen from the front, counter-clockwise, the first towards the nose; "
            f"{FEWEST_RADII} or more, equally spaced."
        ),
    )
    trace = forms.FileField(
        label="Or a tracer's file", required=False, help_text="ASCII text with TRCFMT=1 and R= lines."
    )
    shape_origin = forms.ChoiceField(choices=ShapeOrigin.choices, required=False, widget=forms.HiddenInput)
    keep_difference = forms.BooleanField(label="Keep the typed sizes beside this shape", required=False)

    class Meta:
        model = Frame
        fields = [
            "model",
            "colour",
            "stock_number",
            "in_stock",
            "condition",
            "material",
            "mount",
            "a_mm",
            "b_mm",
            "dbl_mm",
            "ed_mm",
            "front_curve_d",
            "side_length_mm",
            "withdrawn",
        ]

    def __init__(
        self,
        data: QueryDict | None = None,
        files: Any = None,
        *,
        frame: Frame | None = None,
        own: bool = False,
    ):
        self.shape: FrameShape | None = None
        self.differs = False
        self._from_trace, trace_fault = _read_trace(files)
        if data is not None and self._from_trace is not None:
            data = _with_trace(data, self._from_trace)
        super().__init__(data, files, initial=_initial(frame))
        self._trace_fault = trace_fault
        self.initial_radii = frame.radii_mm if frame else None
        for name in ("stock_number", "in_stock", "withdrawn") if own else ("condition",):
            del self.fields[name]
        if own:
            self.fields["condition"].widget.attrs["placeholder"] = "Worn, bent, cracked …"
        if not own and frame is None:
            del self.fields["withdrawn"]
        known = [choice for choice in offered(self, "material") if choice[0]]
        offer(self, "material", [("", "Not known"), *known])

    @property
    def frame_fields(self) -> dict[str, Any]:
        """What the service writes, without the shape."""
        return {name: self.cleaned_data[name] for name in self.Meta.fields if name in self.cleaned_data}

    def clean_in_stock(self) -> int:
        return int(self.cleaned_data["in_stock"] or 0)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self._trace_fault:
            self.add_error("trace", self._trace_fault)
        else:
            self._read_shape()
        if self.shape is not None:
            self._take_missing_sizes()
            self._compare_with_shape()
        self._check_ed()
        return cleaned

    def _read_shape(self) -> None:
        text = self.cleaned_data.get("radii")
        if not text:
            return
        try:
            shape = shape_from_text(text)
        except ShapeFault as fault:
            self.add_error("radii", str(fault))
            return
        notes = self._from_trace.notes if self._from_trace else shape.notes
        traced = self.cleaned_data.get("shape_origin") == ShapeOrigin.TRACE
        self.shape = FrameShape(shape.lens, ShapeOrigin.TRACE if traced else ShapeOrigin.RADII, notes)

    def _take_missing_sizes(self) -> None:
        """A size that was not measured is read off the shape; a typed one is never overwritten."""
        assert self.shape is not None
        lens = self.shape.lens
        for name, found in (("a_mm", lens.a_mm), ("b_mm", lens.b_mm), ("ed_mm", lens.ed_mm)):
            if name in self.cleaned_data and self.cleaned_data[name] is None:
                self.cleaned_data[name] = Decimal(str(found)).quantize(HUNDREDTH)

    @cached_property
    def may_differ_mm(self) -> float:
        """How far apart the typed sizes and the shape may be in this practice, mm."""
        return limits_in_force().of("shape-agrees", "difference_mm")

    def _compare_with_shape(self) -> None:
        assert self.shape is not None
        lens = self.shape.lens
        for name, letter, found in (("a_mm", "A", lens.a_mm), ("b_mm", "B", lens.b_mm)):
            typed = self.cleaned_data.get(name)
            if typed is None or not more_than(abs(float(typed) - found), self.may_differ_mm):
                continue
            self.differs = True
            if not self.cleaned_data.get("keep_difference"):
                self.add_error(
                    name,
                    ValidationError(
                        f"{letter} is typed as {typed.normalize():f} mm; the shape is {found:.1f} mm. "
                        "Correct one of them, or tick to keep both.",
                        code="shape-differs",
                    ),
                )

    def _check_ed(self) -> None:
        a, b, ed = (self.cleaned_data.get(name) for name in ("a_mm", "b_mm", "ed_mm"))
        if ed is None or a is None:
            return
        longest = max(a, b) if b is not None else a
        if less_than(float(ed), float(longest)):
            which = "A" if longest == a else "B"
            self.add_error(
                "ed_mm",
                f"ED of {ed.normalize():f} mm is smaller than {which} ({longest.normalize():f} mm); twice the longest "
                "radius cannot be. Measure across the longest corner through the boxed centre, or leave it empty.",
            )
        elif b is not None and more_than(float(ed), hypot(a, b)):
            self.add_error(
                "ed_mm",
                f"ED of {ed.normalize():f} mm does not fit into a box of {a.normalize():f} × {b.normalize():f} mm; "
                f"at most {hypot(a, b):.1f} mm can be, its diagonal. Measure again, or leave it empty.",
            )


def _initial(frame: Frame | None) -> dict[str, Any]:
    if frame is None:
        return {"in_stock": 1}
    initial = {name: _without_zeros(getattr(frame, name)) for name in FrameForm.Meta.fields}
    return initial | {"radii": radii_as_text(frame.radii_mm), "shape_origin": frame.shape_origin}


def _without_zeros(value: Any) -> Any:
    """Shows 52.00 as 52, the way it is stamped."""
    return Decimal(f"{value.normalize():f}") if isinstance(value, Decimal) else value


def _with_trace(data: QueryDict, shape: FrameShape) -> QueryDict:
    """What was typed, with the traced shape put into the radii field and into the sizes that were left empty."""
    data = data.copy()
    data["radii"], data["shape_origin"] = shape.as_text, ShapeOrigin.TRACE
    for name, found in (("dbl_mm", shape.dbl_mm), ("front_curve_d", shape.front_curve_d)):
        if found is not None and not data.get(name):
            data[name] = f"{found:g}"
    return data


def _read_trace(files: Any) -> tuple[FrameShape | None, str]:
    """The shape in an uploaded file, or what is wrong with the file."""
    upload = (files or {}).get("trace")
    if upload is None:
        return None, ""
    if upload.size > LARGEST_TRACE_BYTES:
        return None, f"The file has {upload.size // 1000} kB; a tracer's file has 200 kB at most. Is it another file?"
    try:
        return shape_from_trace(upload.read()), ""
    except ShapeFault as fault:
        return None, str(fault)


class FrameSearchForm(forms.Form):
    """Finding stock frames. It holds nothing about patients, so it may appear in an address."""

    text = forms.CharField(
        label="Model, colour, stock number or size",
        required=False,
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search", "placeholder": "Alder, F101, 52-18", "autocomplete": "off"}),
    )
    mount = forms.ChoiceField(label="Mount", required=False)
    withdrawn = forms.BooleanField(label="with frames no longer offered", required=False)

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        offer(self, "mount", [("", "All mounts"), *Mount.choices])
