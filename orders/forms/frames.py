"""What a person asks the comparison of frames for: up to three lenses, PDs where none was measured, order and page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from dispensing.forms.fields import offer
from dispensing.forms.figures import SizeField
from dispensing.trade import figure
from orders.documents.lens_order import EYES, Eye
from orders.services.comparing_frames import LensChoice, PDs

SORTS = {
    "best": "Best first",
    "thickest": "Thickest",
    "weight": "Weight",
    "blank": "Blank needed",
    "decentration": "Off centre",
    "height": "Room in height",
    "width": "Width",
}
LONGEST_LIST = 9_999
MOST_LENSES = 3
POSSIBLE_PDS = (figure("typed-fitting", "pd_least_mm"), figure("typed-fitting", "pd_most_mm"))


class ListForm(forms.Form):
    """The order and page of the list. What nobody offers counts as the first."""

    sort = forms.CharField(required=False)
    page = forms.IntegerField(required=False, min_value=1, max_value=LONGEST_LIST)

    def asked(self, name: str) -> Any:
        """What is asked for in a field; None if nothing that counts."""
        return self.cleaned_data.get(name) if self.is_bound else None

    @property
    def asked_sort(self) -> str:
        sort = self.asked("sort") or ""
        return sort if sort in SORTS else "best"

    @property
    def asked_page(self) -> int:
        return self.asked("page") or 1


def _lens(label: str) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, required=False)


def _pd(label: str) -> SizeField:
    return SizeField(words="A monocular PD", unit="mm", possible=POSSIBLE_PDS, decimals=2, label=label)


class FramesForm(ListForm):
    """The same for a patient before any frame is chosen."""

    lens_1 = _lens("Lens")
    lens_2 = _lens("Second lens")
    lens_3 = _lens("Third lens")
    pd_right = _pd("PD, right")
    pd_left = _pd("PD, left")

    def __init__(self, data: Any = None, *, on_offer: Sequence[LensChoice], usual: LensChoice | None) -> None:
        super().__init__(data, initial={"lens_1": usual.key if usual else ""})
        self._on_offer = {lens.key: lens for lens in on_offer}
        self._usual = usual
        by_lab: dict[str, list[tuple[str, str]]] = {}
        for lens in on_offer:
            by_lab.setdefault(lens.catalogue.lab, []).append((lens.key, lens.name))
        offer(self, "lens_1", by_lab.items())
        for name in ("lens_2", "lens_3"):
            offer(self, name, [("", "None"), *by_lab.items()])

    @property
    def lenses(self) -> list[LensChoice]:
        """The lenses chosen, each once; the usual one if nothing valid is."""
        keys = [self.asked(f"lens_{number}") for number in range(1, MOST_LENSES + 1)]
        chosen = [self._on_offer[key] for key in dict.fromkeys(keys) if key]
        return chosen or ([self._usual] if self._usual else [])

    @property
    def pds(self) -> PDs:
        """The PDs typed, in mm."""
        typed: dict[Eye, Any] = {eye: self.asked(f"pd_{eye}") for eye in EYES}
        return {eye: float(value) for eye, value in typed.items() if value is not None}
