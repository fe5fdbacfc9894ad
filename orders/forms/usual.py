"""What is usually ordered from one lab: the job, and design and treatments for each use of a pair."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import QueryDict

from dispensing.choice_words import USES, label
from orders.documents.lens_catalogue import LensCatalogue
from orders.forms.lenses import OfferedField, OfferedSeveralField, designs
from orders.models import Lab
from orders.models.labs import USUAL_FRAME_SOURCES, USUAL_SUPPLIES


class UsualForm(forms.Form):
    """``design-near`` and ``treatments-near``, and so on for each use; offered only from the catalogue in use."""

    usual = forms.BooleanField(
        label="This is our usual lab", required=False, help_text="New orders begin with it. Only one lab can be."
    )
    usual_supply = forms.ChoiceField(label="The lab supplies", choices=USUAL_SUPPLIES)
    usual_frame_source = forms.ChoiceField(
        label="The frame", required=False, choices=[("", "Ask with each order"), *USUAL_FRAME_SOURCES]
    )

    def __init__(self, data: QueryDict | None = None, *, lab: Lab, catalogue: LensCatalogue | None):
        super().__init__(data, initial=_initial(lab))
        treatments = [(one.id, one.name) for one in catalogue.treatments] if catalogue else []
        for use in USES if catalogue else ():
            self.fields[f"design-{use}"] = OfferedField(
                label="Design", required=False, choices=[("", "Choose with each order"), *designs(catalogue)]
            )
            self.fields[f"treatments-{use}"] = OfferedSeveralField(
                label="Treatments", required=False, choices=treatments
            )

    def by_use(self) -> list[dict[str, Any]]:
        """The fields of each use, with its name; empty without a catalogue."""
        return [
            {"label": label(words), "design": self[f"design-{use}"], "treatments": self[f"treatments-{use}"]}
            for use, words in USES.items()
            if f"design-{use}" in self.fields
        ]

    def values(self) -> dict[str, Any]:
        """The fields of a lab, from a form that is valid. Without a catalogue the lenses are left as they are."""
        chosen = self.cleaned_data
        fields = {name: chosen[name] for name in ("usual", "usual_supply", "usual_frame_source")}
        if not self.by_use():
            return fields
        lenses = {use: {"design": chosen[f"design-{use}"], "treatments": chosen[f"treatments-{use}"]} for use in USES}
        return fields | {"usual_lenses": {use: lens for use, lens in lenses.items() if any(lens.values())}}


def _initial(lab: Lab) -> dict[str, Any]:
    lenses = lab.usual_lenses or {}
    return {
        "usual": lab.usual,
        "usual_supply": lab.usual_supply,
        "usual_frame_source": lab.usual_frame_source,
        **{f"design-{use}": chosen.get("design", "") for use, chosen in lenses.items()},
        **{f"treatments-{use}": chosen.get("treatments", []) for use, chosen in lenses.items()},
    }
