"""The order desk's forms for one draft: the job, one lens for each eye, and a lens that stays."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.forms import BoundField
from django.http import QueryDict

from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import EYES, Eye
from orders.facts import catalogue_document
from orders.forms.job import JobForm, Offered
from orders.forms.lenses import KeptLensForm, LensForm
from orders.models import Order
from orders.services.drafts import catalogue_in_use


class DeskForms:
    """The desk's three kinds of form for one draft, and the draft's fields as they would be saved."""

    def __init__(self, order: Order, data: QueryDict | None = None, offered: Offered | None = None):
        self.order = order
        self.offered = offered or Offered.to(order)
        self.job = JobForm(data, order=order, offered=self.offered)
        self.catalogue = self._catalogue()
        self._data = data

    def _catalogue(self) -> LensCatalogue | None:
        lab, known = self.job.lab_chosen, self.order.catalogue
        in_use = known if known and lab and known.lab_id == lab.pk else catalogue_in_use(lab)
        return catalogue_document(in_use) if in_use else None

    @cached_property
    def eyes(self) -> tuple[Eye, ...]:
        chosen = self.job.data.get("eyes", "both") if self.job.is_bound else self.job.initial["eyes"]
        return tuple(eye for eye in EYES if chosen in ("both", eye))

    @cached_property
    def same(self) -> bool:
        """The left lens is made like the right one, so one form serves both."""
        if len(self.eyes) < 2:
            return False
        return "same" in self.job.data if self.job.is_bound else self.job.initial["same"]

    @cached_property
    def every_lens_form(self) -> dict[Eye, LensForm]:
        """One for each eye. The page has them all, and shows those that are `lens_forms`."""
        return {eye: self._lens_form(eye) for eye in EYES}

    @cached_property
    def lens_forms(self) -> dict[Eye, LensForm]:
        shown: tuple[Eye, ...] = ("right",) if self.same else self.eyes
        return {eye: self.every_lens_form[eye] for eye in shown}

    def _lens_form(self, eye: Eye) -> LensForm:
        stored = self.order.lenses or {}
        chosen = stored.get(eye) or stored.get("right") or stored.get("left")
        # An eye that was not on the page brings no data: its form starts from what is stored.
        data = self._data if self._data is not None and f"{eye}-design" in self._data else None
        return LensForm(data, prefix=eye, catalogue=self.catalogue, chosen=chosen)

    @cached_property
    def kept_form(self) -> KeptLensForm:
        data = self._data if self._data is not None and "kept-material" in self._data else None
        return KeptLensForm(data, prefix="kept", kept=self.order.kept_lens)

    def fields(self) -> dict[str, Any]:
        """The draft's fields; an invalid field keeps its stored value."""
        values = self.job.values()
        values["lab"] = self.job.lab_chosen
        values["lenses"] = self._lenses()
        values["kept_lens"] = self.kept_form.kept_lens() if self.kept_form.is_bound else self.order.kept_lens
        return values

    def _lenses(self) -> dict[str, Any]:
        lenses = {eye: self._lens(form) for eye, form in self.lens_forms.items()}
        if self.same:
            return {"right": lenses["right"], "left": lenses["right"]}
        return {eye: lenses.get(eye) for eye in EYES}

    def _lens(self, form: LensForm) -> dict[str, Any]:
        if form.is_bound:
            return form.lens()
        return dict(form.initial_lens)

    def slots(self) -> dict[str, list[str]]:
        """The errors for each slot on the page, including empty ones, so that a corrected fault disappears."""
        without = {"same", "eyes", "power_basis"} | (set() if self.job.asks_who_answers else {"registered"})
        slots = {
            name: [str(error) for error in self.job.errors.get(name, [])]
            for name in self.job.fields
            if name not in without
        }
        if self.catalogue is None:
            return slots
        for form in self.lens_forms.values():
            slots |= form.faults() if form.is_bound else {}
        if len(self.eyes) == 1 and self.kept_form.is_bound:
            slots |= self.kept_form.faults()
        return slots

    def as_typed(self) -> dict[str, list[str]]:
        """Every control with the values that it has for the draft as stored, as a browser would send them."""
        forms = (self.job, *self.every_lens_form.values(), self.kept_form)
        return {form.add_prefix(name): _as_typed(form[name]) for form in forms for name in form.fields}


def _as_typed(field: BoundField) -> list[str]:
    value = field.value()
    if isinstance(value, bool):
        return ["on"] if value else []
    if isinstance(value, list):
        return [str(one) for one in value]
    shown = field.field.widget.format_value(value)
    return shown if isinstance(shown, list) else ["" if shown is None else str(shown)]
