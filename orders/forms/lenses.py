"""The lens choices in a draft order, one form for each eye, offered only from the lab's catalogue.

Every field may be left empty: a draft may be unfinished, and the check says what is missing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.choices import flatten_choices

from dispensing.choice_words import label
from dispensing.forms.fields import FigureField, offer, offered
from dispensing.forms.typed import yes_or_no
from dispensing.trade import figure
from orders.documents.lens_catalogue import Design, LensCatalogue, Material
from orders.documents.names import DESIGN_KINDS, EDGES, INSTRUCTIONS
from orders.options.lenses.offers import materials_of

POLISHED_CHOICES = [("", "As the lab usually does"), ("yes", label(EDGES[True])), ("no", label(EDGES[False]))]
INSTRUCTION_CHOICES = [("", "None"), *((code, label(words)) for code, words in INSTRUCTIONS.items())]
CENTRE_LEAST_MM, CENTRE_MOST_MM = figure("typed-lens", "centre_least_mm"), figure("typed-lens", "centre_most_mm")
OF_THE_DESIGN = ("corridor_mm", "blank_mm")
OFFERED = ("design", "material", *OF_THE_DESIGN, "treatments")
NOT_CHOSEN = {
    "design": "Choose a design",
    "material": "Choose a material",
    "corridor_mm": "Choose a corridor",
    "blank_mm": "Smallest that fits",
}
"""What a list says while nothing in it is chosen."""


def trimmed(value: float) -> str:
    return f"{value:g}"


class OfferedField(forms.ChoiceField):
    """A choice from a catalogue. One that disappeared with its lab or design counts as none, not as an error."""

    def clean(self, value: Any) -> str:
        return str(super().clean(value if self.valid_value(value) else ""))


class OfferedSizeField(forms.ChoiceField):
    """A size in mm from a catalogue; None if none is chosen or the one chosen is no longer offered."""

    def clean(self, value: Any) -> float | None:
        text = super().clean(value if self.valid_value(value) else "")
        return float(text) if text else None


class OfferedSeveralField(forms.MultipleChoiceField):
    widget = forms.CheckboxSelectMultiple

    def clean(self, value: Any) -> list[str]:
        return list(super().clean([one for one in value or () if self.valid_value(one)]))


class ChosenFigureField(FigureField):
    """A figure as a JSON number, as the lenses of a draft are stored."""

    def clean(self, value: Any) -> float | None:
        figure = super().clean(value)
        return None if figure is None else float(figure)


def _base_curve() -> ChosenFigureField:
    return ChosenFigureField(
        label="Base curve (1.530)", required=False, unit="D", low=0, high=figure("typed-frame", "curve_most_d")
    )


def _centre_thickness() -> ChosenFigureField:
    return ChosenFigureField(
        label="Centre thickness", required=False, unit="mm", low=CENTRE_LEAST_MM, high=CENTRE_MOST_MM
    )


class LensForm(forms.Form):
    """One lens. ``prefix`` is the eye; ``catalogue`` is None until a lab is chosen."""

    saves_as_typed = True

    design = OfferedField(label="Design", required=False)
    material = OfferedField(label="Material", required=False)
    corridor_mm = OfferedSizeField(label="Corridor", required=False)
    blank_mm = OfferedSizeField(label="Blank", required=False)
    treatments = OfferedSeveralField(label="Treatments", required=False)
    base_curve_d = _base_curve()
    centre_thickness_mm = _centre_thickness()
    colour = forms.CharField(label="Tint in words", required=False, max_length=120)
    instruction = forms.ChoiceField(label="Instead of a corrected lens", required=False, choices=INSTRUCTION_CHOICES)
    edge_polished = forms.ChoiceField(label="Edge", required=False, choices=POLISHED_CHOICES)
    edge_bevel = forms.CharField(
        label="Bevel", required=False, max_length=60, help_text="As in: mini bevel. Empty: the lab chooses."
    )

    def __init__(
        self,
        data: QueryDict | None = None,
        *,
        prefix: str,
        catalogue: LensCatalogue | None,
        chosen: dict[str, Any] | None,
    ):
        super().__init__(data, prefix=prefix, initial=self.as_typed(chosen or {}))
        self.initial_lens = {"treatments": [], **(chosen or {})}
        self.fields["base_curve_d"].help_text = "Only if you ask for one."
        self.fields["centre_thickness_mm"].help_text = "Only if you ask for one."
        self.catalogue = catalogue
        design = catalogue.design(self._now("design")) if catalogue else None
        material = catalogue.material(self._now("material")) if catalogue else None
        offer(self, "design", [("", NOT_CHOSEN["design"]), *designs(catalogue)])
        offer(self, "material", [("", NOT_CHOSEN["material"]), *_materials(catalogue, design)])
        offer(self, "corridor_mm", [("", NOT_CHOSEN["corridor_mm"]), *corridors(design)])
        offer(self, "blank_mm", [("", NOT_CHOSEN["blank_mm"]), *blanks(design)])
        offer(self, "treatments", _treatments(catalogue, material))
        for name in ("corridor_mm", "blank_mm"):
            self.initial[name] = _text(self.initial.get(name))

    @property
    def has_corridors(self) -> bool:
        return len(offered(self, "corridor_mm")) > 1

    def _now(self, name: str) -> str | None:
        return self.data.get(self.add_prefix(name)) if self.is_bound else self.initial.get(name)

    @staticmethod
    def as_typed(lens: Mapping[str, Any]) -> dict[str, Any]:
        """The keys of a lens as this form names its fields: the two of its edge each for itself."""
        edge = lens.get("edge") or {}
        typed = {name: value for name, value in lens.items() if name != "edge"}
        return {**typed, "edge_polished": yes_or_no(edge.get("polished")), "edge_bevel": edge.get("bevel") or ""}

    def lens(self) -> dict[str, Any]:
        """The choices as ``lens-order/1`` keys. A choice that the design no longer offers is dropped, not kept unseen;
        an invalid figure keeps its stored value.
        """
        self.is_valid()
        chosen = {name: value for name, value in self.cleaned_data.items() if value not in ("", None, [])}
        stored = {name: self.initial_lens[name] for name in self.errors if name in self.initial_lens}
        edge = self._edge(chosen.pop("edge_polished", ""), chosen.pop("edge_bevel", ""))
        return {"treatments": [], **stored, **chosen, **({"edge": edge} if edge else {})}

    def _edge(self, polished: str, bevel: str) -> dict[str, Any]:
        """What is not left to the lab; a bevel that cannot be stored keeps its stored words."""
        kept = (self.initial_lens.get("edge") or {}).get("bevel") if "edge_bevel" in self.errors else bevel
        finish = {"polished": polished == "yes"} if polished else {}
        return {**finish, **({"bevel": kept} if kept else {})}

    def not_offered(self) -> dict[str, list[str]]:
        """Choices that were sent but dropped, by field. On the page they simply disappear; a program is told."""
        told: dict[str, list[str]] = {}
        for name in OFFERED:
            if "design" in told and name in OF_THE_DESIGN:
                continue
            known = {str(value) for value, _ in flatten_choices(offered(self, name))}
            dropped = [one for one in self._named(name) if one and one not in known]
            if dropped:
                told[name] = [self._not_offered(name, one) for one in dropped]
        return told

    def _named(self, name: str) -> list[str]:
        data = self.data
        return [str(one) for one in data.getlist(self.add_prefix(name))] if isinstance(data, QueryDict) else []

    def _not_offered(self, name: str, named: str) -> str:
        if self.catalogue is None:
            return "Choose a lab first: this is chosen from its catalogue."
        choices = ", ".join(str(value) for value, _ in flatten_choices(offered(self, name)) if value)
        return f"{named} is not offered here. Offered: {choices or 'nothing'}."

    def faults(self) -> dict[str, list[str]]:
        """What is wrong with each field on the page, empty where nothing is."""
        return {
            self.add_prefix(name): [*(str(error) for error in self.errors.get(name, [])), *self._does_not_come(name)]
            for name in self.fields
        }

    def _does_not_come(self, name: str) -> list[str]:
        """A choice that the page still shows although the design or the material chosen since has nothing of the kind.

        Only what the catalogue knows by name: a choice from another lab's is none.
        """
        if self.catalogue is None or name not in ("material", "treatments"):
            return []
        known = {str(value) for value, _ in flatten_choices(offered(self, name))}
        find: Any = self.catalogue.material if name == "material" else self.catalogue.treatment
        dropped = [entry for one in self._named(name) if one not in known and (entry := find(one)) is not None]
        within = "this design" if name == "material" else "this material"
        return [f"{entry.name} does not come in {within}. Choose another." for entry in dropped]


class KeptLensForm(forms.Form):
    """What is known about the lens that stays in the frame when only the other one is ordered."""

    saves_as_typed = True

    material = forms.CharField(label="Material", required=False, max_length=60)
    design = forms.CharField(label="Design", required=False, max_length=60)
    base_curve_d = _base_curve()
    centre_thickness_mm = _centre_thickness()
    treatments = forms.CharField(
        label="Treatments", required=False, max_length=200, help_text="Separate several by commas."
    )

    def __init__(self, data: QueryDict | None = None, *, prefix: str, kept: dict[str, Any] | None):
        self.stored = dict(kept or {})
        initial = dict(self.stored)
        initial["treatments"] = ", ".join(initial.get("treatments") or ())
        super().__init__(data, prefix=prefix, initial=initial)

    def kept_lens(self) -> dict[str, Any] | None:
        """What is known, as ``lens-order/1`` keys; an invalid figure keeps its stored value."""
        self.is_valid()
        known = {name: self.stored[name] for name in self.errors if name in self.stored}
        known |= {name: value for name, value in self.cleaned_data.items() if value not in ("", None)}
        if "treatments" in self.cleaned_data and "treatments" in known:
            known["treatments"] = [part.strip() for part in known["treatments"].split(",") if part.strip()]
        return known or None

    def faults(self) -> dict[str, list[str]]:
        """What is wrong with each field, empty where nothing is."""
        return {self.add_prefix(name): [str(error) for error in self.errors.get(name, [])] for name in self.fields}


def _text(value: float | None) -> str:
    return "" if value is None else trimmed(float(value))


def designs(catalogue: LensCatalogue | None) -> list[tuple[str, list[tuple[str, str]]]]:
    """The designs of a catalogue as grouped choices, by kind."""
    if catalogue is None:
        return []
    return [
        (label(words), [(design.id, design.name) for design in catalogue.designs if design.kind == kind])
        for kind, words in DESIGN_KINDS.items()
        if any(design.kind == kind for design in catalogue.designs)
    ]


def _materials(catalogue: LensCatalogue | None, design: Design | None) -> list[tuple[str, str]]:
    if catalogue is None:
        return []
    offered = catalogue.materials if design is None else materials_of(catalogue, design)
    return [(material.id, material.name) for material in offered]


def corridors(design: Design | None) -> list[tuple[str, str]]:
    """The corridors of a design, as value and label; none without one."""
    return [
        (trimmed(c.length_mm), f"{trimmed(c.length_mm)} mm" + _from_height(c.min_height_mm))
        for c in (design.corridors if design else ())
    ]


def _from_height(height_mm: float | None) -> str:
    return "" if height_mm is None else f", from height {trimmed(height_mm)}"


def blanks(design: Design | None) -> list[tuple[str, str]]:
    """The sizes of blank of a design, as value and label; none without one."""
    sizes = sorted({blank.diameter_mm for blank in design.blanks}) if design else []
    return [(trimmed(size), f"{trimmed(size)} mm") for size in sizes]


def _treatments(catalogue: LensCatalogue | None, material: Material | None) -> list[tuple[str, str]]:
    if catalogue is None:
        return []
    return [
        (treatment.id, treatment.name)
        for treatment in catalogue.treatments
        if material is None or not treatment.materials or material.id in treatment.materials
    ]
