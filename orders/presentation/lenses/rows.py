"""One lens of the comparison in words and figures. It decides nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from orders.documents.key_words import DASH
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_option import OptionFinding
from orders.documents.lens_order import Lifted
from orders.documents.order_report import ComputedEye, Verdict
from orders.options.lenses.comparison import LensRow
from orders.options.lenses.found import found
from orders.options.lenses.meaning import earliest_promise, thickest
from orders.options.lenses.present import key_of
from orders.options.lenses.unknown import Unknown
from orders.presentation.documents import Headings

NO_BREAK = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, eq=False)
class LensShown:
    """A row of the comparison. own_catalogue: of the order's lab, which names the treatments ordered."""

    row: LensRow
    headings: Headings
    own_catalogue: LensCatalogue | None
    names_lab: bool

    @cached_property
    def key(self) -> str:
        return key_of(self.row.offer.choice, self.lab)

    @property
    def lab(self) -> str:
        return self.row.offer.catalogue.lab

    @property
    def name(self) -> str:
        """``Design, material, corridor 11 mm, blank 70 mm``: what tells it from the others of its lab."""
        offer = self.row.offer
        parts = [offer.design.name, offer.material.name]
        parts += [f"corridor {offer.corridor_mm:g} mm"] if offer.corridor_mm is not None else []
        parts += [f"blank {offer.blank_mm:g} mm"] if offer.blank_mm is not None else []
        return ", ".join(parts)

    @property
    def title(self) -> str:
        return f"{self.row.offer.design.name} · {self.row.offer.material.name}"

    @property
    def details(self) -> tuple[str, ...]:
        offer = self.row.offer
        corridor = f"corridor {offer.corridor_mm:g} mm" if offer.corridor_mm is not None else ""
        treatments = [_treatment(offer.catalogue, id) for id in offer.treatments]
        left_out = [f"without {_treatment(self.own_catalogue, id)}" for id in offer.left_out]
        lab = [self.lab] if self.names_lab else []
        return tuple(part for part in (corridor, *treatments, *left_out, *lab) if part)

    @property
    def centre(self) -> str:
        return _length(self._most("centre_thickness_mm"))

    @cached_property
    def _thickest(self) -> tuple[str, str]:
        place = thickest(self.row)
        if place is None:
            return DASH, ""
        return _length(place.mm), f"{place.where},{NO_BREAK}{self.headings.eye(place.eye)}"

    @property
    def thickest(self) -> str:
        return self._thickest[0]

    @property
    def where(self) -> str:
        return self._thickest[1]

    @cached_property
    def weight_g(self) -> float | None:
        """Of all lenses ordered, as they will be made."""
        weights = [eye.shown("weight_g") for eye in self._eyes]
        known = [weight for weight in weights if weight is not None]
        return sum(known) if known and len(known) == len(weights) else None

    @property
    def weight(self) -> str:
        if self.weight_g is None:
            return DASH
        return f"{self.weight_g:.1f} g" if self.row.case.is_pair else f"{self.weight_g:.1f} g, one lens"

    @property
    def blank(self) -> str:
        blank = self.row.offer.blank_mm
        return "smallest that fits" if blank is None else f"{blank:g} mm"

    @property
    def blank_needed(self) -> str:
        needed = self._most("blank_needed_mm")
        return "" if needed is None else f"{needed:.1f} mm needed"

    @property
    def price(self) -> str:
        return DASH if self.row.cost is None else self.row.cost.written

    @property
    def price_says(self) -> str:
        """How the price comes about."""
        return "" if self.row.cost is None else self.row.cost.says

    @cached_property
    def promise(self) -> object:
        return earliest_promise(self.row.case)

    @property
    def level(self) -> Verdict:
        return self.row.verdict

    @cached_property
    def open(self) -> list[OptionFinding]:
        """What stands in the way and nobody has answered, worst first."""
        lifted = self.row.table.order.lifted or ()
        return [one for one in self.row.findings if one.level != "note" and not is_answered(one, lifted)]

    @property
    def says(self) -> str:
        """``Clear``, ``2 to confirm`` or ``Stopped``."""
        if self.level == "stop":
            return "Stopped"
        return f"{len(self.open)} to confirm" if self.level == "ask" else "Clear"

    @cached_property
    def found(self) -> str:
        """What was found that is worst, in the words of the check."""
        return next(iter(found(self.row, self.open[:1])), "")

    @property
    def unknown(self) -> tuple[Unknown, ...]:
        return self.row.unknown

    @property
    def _eyes(self) -> Sequence[ComputedEye]:
        computed = self.row.computed
        return [getattr(computed, eye) for eye in self.row.table.order.ordered_eyes]

    def _most(self, key: str) -> float | None:
        values = [eye.shown(key) for eye in self._eyes]
        known = [value for value in values if value is not None]
        return max(known) if known and len(known) == len(values) else None


def is_answered(finding: OptionFinding, lifted: Iterable[Lifted]) -> bool:
    """Whether one of these entries, all of which still hold, is about the finding."""
    return any(
        entry.rule == finding.rule
        and (entry.eye in ("both", finding.eye) or (entry.eye, finding.eye) == (None, "both"))
        for entry in lifted
    )


def _treatment(catalogue: LensCatalogue | None, id: str) -> str:
    found = catalogue.treatment(id) if catalogue else None
    return found.name if found else id


def _length(mm: float | None) -> str:
    return DASH if mm is None else f"{round(mm, 1) + 0.0:.1f} mm"
